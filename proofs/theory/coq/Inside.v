(* A vertex all of whose edges are inner edges is inside the sheet. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Edge Top Unique Closure. Require Chain.
Import ListNotations.
Open Scope R_scope.
(* induction along [0, 1] *)
Theorem real_induction : forall P : R -> Prop, (forall t, P t \/ ~ P t) -> P 0 ->
  (forall t, 0 < t <= 1 -> (forall u, 0 <= u < t -> P u) -> P t) ->
  (forall t, 0 <= t < 1 -> P t -> exists e, 0 < e /\ forall u, t <= u < t + e -> u <= 1 -> P u) -> P 1.
Proof.
  intros P Dec P0 Left Right. set (E := fun t => 0 <= t <= 1 /\ forall u, 0 <= u <= t -> P u).
  assert (E0 : E 0). { split; [lra|]. intros u Hu. replace u with 0 by lra. exact P0. }
  destruct (completeness E) as (s & Ub & Lub). { exists 1. intros t (Ht & _). lra. } { exists 0. exact E0. }
  assert (S0 : 0 <= s) by (now apply Ub). assert (S1 : s <= 1) by (apply Lub; intros t (Ht & _); lra).
  assert (Below : forall u, 0 <= u < s -> P u).
  { intros u Hu. destruct (Dec u) as [|N]; auto. exfalso. assert (U : is_upper_bound E u).
  { intros t (Ht & H). apply Rnot_lt_le. intro L. apply N, H. lra. }
  pose proof (Lub u U). lra. }
  assert (Ps : P s). { destruct (Req_dec s 0) as [->|N]; auto. apply Left; [lra|exact Below]. }
  destruct (Rlt_dec s 1) as [L|L]; [|replace 1 with s by lra; exact Ps]. exfalso.
  destruct (Right s ltac:(lra) Ps) as (e & He & H). set (v := Rmin 1 (s + e / 2)).
  assert (v <= 1) by apply Rmin_l. assert (v <= s + e / 2) by apply Rmin_r. assert (s < v) by (apply Rmin_glb_lt; lra).
  assert (Ev : E v).
  { split; [lra|]. intros u Hu. destruct (Rlt_dec u s); [apply Below; lra|apply H; lra]. }
  pose proof (Ub v Ev). lra.
Qed.
Lemma ball_self : forall p e, 0 < e -> ball p e p.
Proof. intros p e He. unfold ball, dist. rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra. Qed.
Lemma ball_mid : forall p e a b t, 0 <= t <= 1 -> ball p e a -> ball p e b -> ball p e (mid a b t).
Proof.
  intros p e a b t Ht A B. unfold ball, dist in *.
  assert (X : forall x u v, Rabs (x - u) < e -> Rabs (x - v) < e -> Rabs (x - ((1 - t) * u + t * v)) < e).
  { assert (Y : forall u v, u < e -> v < e -> (1 - t) * u + t * v < e).
    { intros u v U W. pose proof (Rmax_l u v). pose proof (Rmax_r u v).
      assert (Rmax u v < e) by (now apply Rmax_lub_lt). set (m := Rmax u v) in *. nra. }
    intros x u v U W. apply Rabs_def2 in U, W. pose proof (Y (x - u) (x - v) ltac:(lra) ltac:(lra)).
    pose proof (Y (u - x) (v - x) ltac:(lra) ltac:(lra)). apply Rabs_def1; lra. }
  assert (A1 : Rabs (fst p - fst a) < e) by (eapply Rle_lt_trans; [apply Rmax_l|exact A]).
  assert (A2 : Rabs (snd p - snd a) < e) by (eapply Rle_lt_trans; [apply Rmax_r|exact A]).
  assert (B1 : Rabs (fst p - fst b) < e) by (eapply Rle_lt_trans; [apply Rmax_l|exact B]).
  assert (B2 : Rabs (snd p - snd b) < e) by (eapply Rle_lt_trans; [apply Rmax_r|exact B]).
  unfold mid; cbn [fst snd]. apply Rmax_lub_lt; auto.
Qed.
(* the parameters near t give places near that of t *)
Lemma along_near : forall a b t e, 0 < e -> exists r, 0 < r /\ forall u, Rabs (t - u) < r ->
  ball (mid a b t) e (mid a b u).
Proof.
  intros a b t e He. pose proof (dist_pos a b) as D. exists (e / (dist a b + 1)).
  assert (0 < e / (dist a b + 1)) by (apply Rdiv_lt_0_compat; lra). split; auto.
  intros u Hu. unfold ball. rewrite dist_mid. pose proof (Rabs_pos (t - u)).
  assert (Rabs (t - u) * (dist a b + 1) < e).
  { replace e with (e / (dist a b + 1) * (dist a b + 1)) at 1 by (field; lra). apply Rmult_lt_compat_r; lra. }
  nra.
Qed.
Lemma sheet_closed : forall d p, (forall e, 0 < e -> exists q, ball p e q /\ sheet d q) -> sheet d p.
Proof.
  intros d p H e He. destruct (H (e / 2) ltac:(lra)) as (q & Bq & Sq). destruct (Sq (e / 2) ltac:(lra)) as (r & Br & O).
  exists r. split; auto.
  unfold ball in *. pose proof (dist_tri p q r). lra.
Qed.
Section Inside.
Variables (V : nat -> pt) (T : list tr) (d : doc).
Notation geo := (geo V).
Hypothesis M : mesh V T d.
Notation Ccw := (m_ccw V T d M).
Lemma sheet_dec : forall p, sheet d p \/ ~ sheet d p.
Proof.
  intro p. destruct (Exists_dec (fun t => closed (geo t) p) T (fun t => closed_dec (geo t) p)) as [X|X].
  - left. apply (m_cover V T d M), Exists_exists, X.
  - right. intro H. apply X, Exists_exists. now apply (m_cover V T d M).
Qed.
(* near its corner v a triangle is its open part, its two sides at v, and v *)
Definition fan_at u v q := closed (geo u) q -> open (geo u) q \/ q = V v \/ exists j m, corner u j /\ j <> v /\
  0 < m < 1 /\ q = mid (V v) (V j) m.
Lemma fan_one : forall u v, In u T -> corner u v -> exists e, 0 < e /\ forall q, ball (V v) e q -> fan_at u v q.
Proof.
  intros u v Hu Hv. pose proof (Ccw u Hu) as HC. pose proof (m_ne V T d M u Hu) as (N1 & N2 & N3).
  assert (X : forall a b c, ccw (V a, V b, V c) -> exists e, 0 < e /\ forall q, ball (V a) e q ->
    closed (V a, V b, V c) q -> open (V a, V b, V c) q \/ q = V a \/ (exists m, 0 < m < 1 /\
    (q = mid (V a) (V b) m \/ q = mid (V a) (V c) m))).
  { intros a b c Q. unfold ccw in Q. destruct (neg_nbhd (V c) (V b) (V a)) as (e & He & H); [unfold left in *; lra|].
    exists e. split; auto. intros q Bq Cq.
    specialize (H q Bq). rewrite left_swap in H.
    destruct (closed_cases _ _ _ q Q Cq) as [O|[[-> |[-> | ->]]|(l & Hl & [-> |[-> | ->]])]]; auto.
    - exfalso. unfold left in H. lra. - exfalso. unfold left in H. lra. - right; right. exists l. auto.
    - exfalso. rewrite left_ends in H. lra.
    - right; right. exists (1 - l). split; [lra|]. right. unfold mid. f_equal; ring. }
  assert (R1 : forall a b c q, (closed (a, b, c) q -> closed (b, c, a) q) /\ (open (b, c, a) q -> open (a, b, c) q)) by
    (intros; unfold closed, open; tauto).
  unfold fan_at, ccw, Paste.geo in *. destruct Hv as [-> | [-> | ->]].
  - destruct (X (ci u) (cj u) (ck u) HC) as (e & He & H). exists e. split; auto. intros q Bq Cq.
    destruct (H q Bq Cq) as [O|[O|(m & Hm & [O|O])]]; auto; right; right; [exists (cj u), m|exists (ck u), m];
      unfold corner; auto 8.
  - destruct (X (cj u) (ck u) (ci u)) as (e & He & H); [unfold ccw, left in *; lra|]. exists e. split; auto.
    intros q Bq Cq. destruct (H q Bq (proj1 (R1 _ _ _ q) Cq)) as [O|[O|(m & Hm & [O|O])]]; auto;
     [left; now apply R1|right; right; exists (ck u), m|right; right; exists (ci u), m]; unfold corner; auto 8.
  - destruct (X (ck u) (ci u) (cj u)) as (e & He & H); [unfold ccw, left in *; lra|]. exists e. split; auto.
    intros q Bq Cq. destruct (H q Bq (proj1 (R1 _ _ _ q) (proj1 (R1 _ _ _ q) Cq))) as [O|[O|(m & Hm & [O|O])]]; auto;
     [left; now apply R1, R1|right; right; exists (ci u), m|right; right; exists (cj u), m]; unfold corner; auto 8.
Qed.
Lemma fan_all : forall v S, incl S T -> exists e, 0 < e /\ forall u q, In u S -> corner u v -> ball (V v) e q ->
  fan_at u v q.
Proof.
  induction S as [|u S IH]; intro I; [exists 1; split; [lra|intros u q []]|].
  destruct IH as (e & He & H); [intros x Hx; apply I; now right|].
  assert (Dec : corner u v \/ ~ corner u v) by (unfold corner; destruct (Nat.eq_dec v (ci u)), (Nat.eq_dec v (cj u)),
    (Nat.eq_dec v (ck u)); tauto).
  destruct Dec as [C|C].
  - destruct (fan_one u v (I u (or_introl eq_refl)) C) as (e' & He' & H'). exists (Rmin e e').
    split; [now apply Rmin_glb_lt|]. unfold ball in *.
    intros w q [<-|Hw] Cw Bq; [apply H'; eapply Rlt_le_trans; [exact Bq|apply Rmin_r]|apply H; auto;
      eapply Rlt_le_trans; [exact Bq|apply Rmin_l]].
  - exists e. split; auto. intros w q [<-|Hw] Cw Bq; [contradiction|auto].
Qed.
Theorem vertex_inside : forall t v, In t T -> corner t v -> (forall u j, In u T -> corner u v -> corner u j -> v <> j ->
  exists u', inner T u u' v j) -> inside d (V v).
Proof.
  intros t v Ht Hv All. destruct (near V T (V v)) as (e1 & P1 & Near).
  destruct (fan_all v T (incl_refl T)) as (e2 & P2 & Fan). set (e := Rmin e1 e2).
  assert (He : 0 < e) by (now apply Rmin_glb_lt).
  assert (Le1 : e <= e1) by apply Rmin_l. assert (Le2 : e <= e2) by apply Rmin_r.
  assert (Cv : closed (geo t) (V v)).
  { pose proof (Ccw t Ht) as HC. unfold ccw, Paste.geo in *. unfold closed.
    destruct Hv as [-> | [-> | ->]]; unfold left in *; lra. }
  assert (In_ : forall q, ball (V v) e q -> q <> V v -> sheet d q -> inside d q).
  { intros q Bq N Sq. unfold ball in Bq. apply (m_cover V T d M) in Sq. destruct Sq as (u & Hu & Cu).
    assert (Uv : corner u v).
    { apply (m_P3 V T d M t); auto. apply (Near q u); auto. unfold ball. lra. }
    destruct (Fan u q Hu Uv ltac:(unfold ball; lra) Cu) as [O|[O|(j & m & Hj & Nj & Hm & ->)]];
      [exact (open_in V T d M u q Hu O)|contradiction|].
    destruct (All u j Hu Uv Hj (not_eq_sym Nj)) as (u' & I). exact (edge_inside V T d M u u' v j m I Hm). }
  destruct (open_dense (geo t) (V v) e (Ccw t Ht) Cv He) as (c & Bc & Oc).
  assert (Nc : c <> V v).
  { intros ->. assert (Z : corner t v) by exact Hv. destruct Oc as (A & B & C). unfold Paste.geo in *.
    destruct Z as [-> | [-> | ->]]; unfold left in *; lra. }
  assert (Main : forall q, ball (V v) e q -> left (V v) c q <> 0 -> sheet d q).
  { intros q Bq N. assert (Off : forall u, 0 <= u <= 1 -> mid c q u <> V v).
    { intros u Hu E. destruct (Req_dec u 0) as [->|Nu]; [rewrite Chain.mid_0 in E; contradiction|].
      assert (Z : left (V v) c (mid c q u) = 0) by (rewrite E; unfold left; ring).
      rewrite left_mid in Z. replace (left (V v) c c) with 0 in Z by (unfold left; ring).
      assert (Z' : u * left (V v) c q = 0) by lra. apply Rmult_integral in Z'. destruct Z'; contradiction. }
    rewrite <- (Chain.mid_1 c q). apply (real_induction (fun u => sheet d (mid c q u))).
    - intro u. apply sheet_dec.
    - rewrite Chain.mid_0. apply (Cut.inside_sheet d), (open_in V T d M t c Ht Oc).
    - intros u Hu H. apply sheet_closed. intros x Hx. destruct (along_near c q u x Hx) as (r & Hr & Bal).
      exists (mid c q (Rmax 0 (u - r / 2))).
      assert (0 <= Rmax 0 (u - r / 2)) by apply Rmax_l. assert (u - r / 2 <= Rmax 0 (u - r / 2)) by apply Rmax_r.
      assert (Rmax 0 (u - r / 2) < u) by (apply Rmax_lub_lt; lra).
      split; [apply Bal; rewrite Rabs_pos_eq; lra|apply H; lra].
    - intros u Hu Su. destruct (In_ (mid c q u)) as (x & Hx & H); auto; [apply ball_mid; auto; lra|apply Off; lra|].
      destruct (along_near c q u x Hx) as (r & Hr & Bal). exists r. split; auto. intros w Hw _. apply H, Bal.
      rewrite Rabs_minus_sym, Rabs_pos_eq; lra. }
  exists e. split; auto. intros q Bq. destruct (Req_dec (left (V v) c q) 0) as [Z|N]; [|now apply Main].
  apply sheet_closed. intros x Hx.
  set (z := (fst (V v) - (snd c - snd (V v)), snd (V v) + (fst c - fst (V v)))).
  assert (Nz : left (V v) c z <> 0).
  { unfold left, z; cbn [fst snd]. set (a := fst c - fst (V v)). set (b := snd c - snd (V v)). intro Q.
    assert (Q' : a * a + b * b = 0) by lra. destruct (Rplus_sqr_eq_0 a b Q'). apply Nc. unfold a, b in *.
    destruct c, (V v); simpl in *. f_equal; lra. }
  unfold ball in Bq. destruct (mid_near q z (Rmin x (e - dist (V v) q))) as (s & Hs & Bs); [apply Rmin_glb_lt; lra|].
  unfold ball in Bs. exists (mid q z s). split; [unfold ball; eapply Rlt_le_trans; [exact Bs|apply Rmin_l]|].
  apply Main.
  - unfold ball. assert (dist q (mid q z s) < e - dist (V v) q) by (eapply Rlt_le_trans; [exact Bs|apply Rmin_r]).
    pose proof (dist_tri (V v) q (mid q z s)). lra.
  - rewrite left_mid, Z. intro Q. assert (Q' : s * left (V v) c z = 0) by lra. apply Rmult_integral in Q'.
    destruct Q'; [lra|contradiction].
Qed.
End Inside.
