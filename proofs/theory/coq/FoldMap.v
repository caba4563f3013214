(* The pasted map is a fold map of the document. *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover Paste Layers.
Import ListNotations.
Open Scope R_scope.
Section FM.
Variables (V W : nat -> pt) (T : list tr) (d : doc).
Notation geo := (geo V). Notation Ft := (Ft V W). Notation F := (F V W T).
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis Hcongr : forall t, In t T -> congr V W t.
Hypothesis P1 : forall t u q, In t T -> In u T -> open (geo t) q -> closed (geo u) q -> t = u.
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo u) (V i) -> corner u i.
Hypothesis Hne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.
Definition sides t t' i j := (forall q, closed (geo t) q -> 0 <= left (V i) (V j) q) /\
  (forall q, closed (geo t') q -> left (V i) (V j) q <= 0).
Hypothesis Hsides : forall t t' i j, inner T t t' i j -> sides t t' i j \/ sides t' t i j.
Hypothesis Htwo : forall t t' u i j, inner T t t' i j -> In u T -> corner u i -> corner u j -> u = t \/ u = t'.
Hypothesis Hinner : forall s k l m, In s T -> k <> l -> corner s k -> corner s l -> 0 < m < 1 ->
  inside d (mid (V k) (V l) m) -> exists s', inner T s s' k l.
Hypothesis Hflat : forall t t' i j l, inner T t t' i j -> 0 < l < 1 -> ~ on_fold d (mid (V i) (V j) l) -> tu t = tu t'.
(* corners off the folds: all triangles there move alike *)
Hypothesis Hstar : forall t u i, In t T -> In u T -> corner t i -> corner u i -> ~ on_fold d (V i) ->
  tu u = tu t /\ forall q, Ft u q = Ft t q.
(* each point of a fold line is on an edge; across it the triangles are turned differently *)
Hypothesis Hcr : forall a b k p, In (a, b, k) (creases d) -> is_fold k -> on_seg a b p ->
  exists t i j m, In t T /\ corner t i /\ corner t j /\ i <> j /\ 0 <= m <= 1 /\ p = mid (V i) (V j) m /\
   left (V i) (V j) a = 0 /\ left (V i) (V j) b = 0 /\ (fst b - fst a) * (fst (V j) - fst (V i)) + (snd b - snd a) *
     (snd (V j) - snd (V i)) <> 0 /\ (forall t', inner T t t' i j -> sg t' = - sg t).

Lemma same_map_at : forall t u i j, In t T -> In u T -> Ft t (V i) = Ft u (V i) -> Ft t (V j) = Ft u (V j) ->
  V i <> V j -> tu t = tu u -> forall q, Ft u q = Ft t q.
Proof.
  intros t u i j Ht Hu EI EJ D E q. destruct (Ft_rigid V W T Hccw Hcongr t Ht) as (c & s & tx & ty & N & H).
  destruct (Ft_rigid V W T Hccw Hcongr u Hu) as (c' & s' & tx' & ty' & N' & H').
  assert (Sg : sg u = sg t) by (unfold sg; now rewrite E). rewrite Sg in H'.
  assert (G : sg t * sg t = 1) by (destruct (sg_cases t) as [-> | ->]; ring).
  rewrite H, H' in EI, EJ. injection EI as X1 Y1. injection EJ as X2 Y2. rewrite H, H'.
  set (g := sg t) in *. set (ix := fst (V i)) in *. set (iy := snd (V i)) in *. set (jx := fst (V j)) in *.
  set (jy := snd (V j)) in *.
  set (dx := jx - ix). set (dy := jy - iy). set (C := c - c'). set (S := s - s').
  assert (A1 : C * dx - g * S * dy = 0) by (unfold C, S, dx, dy; lra).
  assert (A2 : S * dx + g * C * dy = 0) by (unfold C, S, dx, dy; lra).
  assert (M : dx * dx + dy * dy <> 0).
  { intro Z. apply D. destruct (Rplus_sqr_eq_0 dx dy Z). destruct (V i), (V j).
    unfold dx, dy, ix, iy, jx, jy in *; simpl in *. f_equal; lra. }
  assert (C0 : C = 0).
  { assert (C * (dx * dx + dy * dy) = 0).
  { transitivity ((C * dx - g * S * dy) * dx + g * (S * dx + g * C * dy) * dy + (1 - g * g) * C * (dy * dy)); [ring|].
    rewrite A1, A2, G. ring. }
  apply Rmult_integral in H0. destruct H0; auto; contradiction. }
  assert (S0 : S = 0).
  { assert (S * (dx * dx + dy * dy) = 0).
  { transitivity ((S * dx + g * C * dy) * dx - g * (C * dx - g * S * dy) * dy + (1 - g * g) * S * (dy * dy)); [ring|].
    rewrite A1, A2, G. ring. }
  apply Rmult_integral in H0. destruct H0; auto; contradiction. }
  assert (c' = c) by (unfold C in C0; lra). assert (s' = s) by (unfold S in S0; lra). subst c' s'. f_equal; lra.
Qed.
Lemma same_map : forall t u i j, In t T -> In u T -> corner t i -> corner t j -> corner u i -> corner u j ->
  V i <> V j -> tu t = tu u -> forall q, Ft u q = Ft t q.
Proof. intros t u i j Ht Hu Ti Tj Ui Uj. apply same_map_at; auto; rewrite !(Ft_corner V W T); auto. Qed.
Lemma V_ne : forall t i j, In t T -> corner t i -> corner t j -> i <> j -> V i <> V j.
Proof.
  intros t i j Ht Hi Hj D E. pose proof (Hccw t Ht) as HD. unfold ccw, Paste.geo in HD.
  assert (Z1 : forall a b, left a b b = 0) by (intros; unfold left; ring).
  assert (Z2 : forall a b, left a a b = 0) by (intros; unfold left; ring).
  assert (Z3 : forall a b, left a b a = 0) by (intros; unfold left; ring).
  destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence; rewrite E in HD || rewrite <- E in HD;
    rewrite ?Z1, ?Z2, ?Z3 in HD; lra.
Qed.
Lemma on_line_mid : forall a b q, a <> b -> left a b q = 0 -> exists s, q = mid a b s.
Proof.
  intros [ax ay] [bx by_] [qx qy] D L. unfold left in L; simpl in L.
  set (n := (bx - ax) * (bx - ax) + (by_ - ay) * (by_ - ay)).
  assert (N : n <> 0). { intro Z. apply D. destruct (Rplus_sqr_eq_0 (bx - ax) (by_ - ay) Z). f_equal; lra. }
  exists (((qx - ax) * (bx - ax) + (qy - ay) * (by_ - ay)) / n). unfold mid; simpl.
  set (k := (qx - ax) * (bx - ax) + (qy - ay) * (by_ - ay)). assert (K : n * (k / n) = k) by (field; auto).
  set (s := k / n) in *. f_equal; apply Rmult_eq_reg_l with n; auto.
  - transitivity (n * ax + (n * s) * (bx - ax)); [|ring]. rewrite K. unfold k, n.
    transitivity (n * qx + (by_ - ay) * ((bx - ax) * (qy - ay) - (by_ - ay) * (qx - ax)));
      [rewrite L; unfold n; ring|unfold n; ring].
  - transitivity (n * ay + (n * s) * (by_ - ay)); [|ring]. rewrite K. unfold k, n.
    transitivity (n * qy - (bx - ax) * ((bx - ax) * (qy - ay) - (by_ - ay) * (qx - ax)));
      [rewrite L; unfold n; ring|unfold n; ring].
Qed.
Theorem flat_part : forall p, inside d p -> ~ on_fold d p -> shows F 1 p \/ shows F (-1) p.
Proof.
  intros p Hi Hf. assert (Hp : sheet d p).
  { destruct Hi as (e & He & H). apply H. unfold ball, dist. rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra. }
  apply Hcover in Hp. destruct Hp as (t & Ht & Hc). assert (X : shows F (sg t) p).
  { apply (F_rigid_near V W T Hccw Hcongr P1 P2 P3 Hne d Hcover p t Hi Ht Hc). intros u Hu Cu.
    destruct (share V T Hccw P1 P2 P3 Hne t p Ht Hc) as [[_ X]|[(i & Hi' & E & X)|(i & j & m & Hi' & Hj & D & Hm & E &
      X)]].
    - now rewrite (X u Hu Cu).
    - apply (Hstar t u i); auto. now rewrite <- E.
    - destruct (X u Hu Cu) as (Ui & Uj). destruct (tr_dec t u) as [->|Du]; auto.
      apply (same_map t u i j); auto; [eapply V_ne; eauto|].
      apply (Hflat t u i j m); auto; [unfold inner; auto 12|now rewrite <- E]. }
  destruct (sg_cases t) as [S|S]; rewrite S in X; auto.
Qed.
Theorem fold_part : exists Z, forall a b k p, In (a, b, k) (creases d) -> is_fold k -> on_seg a b p -> inside d p ->
  ~ In p Z ->
     exists eps sigma, 0 < eps /\ (sigma = 1 \/ sigma = -1) /\
       rigid F sigma (fun q => ball p eps q /\ 0 <= left a b q) /\ rigid F (- sigma) (fun q =>
         ball p eps q /\ left a b q <= 0).
Proof.
  exists (flat_map (fun t => [V (ci t); V (cj t); V (ck t)]) T). intros a b k p Hk Hf Hs Hi NZ.
  destruct (Hcr a b k p Hk Hf Hs) as (t & i & j & m & Ht & Ci & Cj & D & Hm & E & La & Lb & Kp & Sg).
  assert (VZ : forall i, corner t i -> p <> V i).
  { intros l Hl Ep. apply NZ. rewrite Ep. apply in_flat_map. exists t. split; auto.
    destruct Hl as [-> | [-> | ->]]; simpl; auto. }
  assert (Hm' : 0 < m < 1).
  { destruct Hm as [[A|A] [B|B]]; auto; exfalso.
    - apply (VZ j Cj). rewrite E, B. unfold mid. destruct (V j); simpl. f_equal; ring.
    - apply (VZ i Ci). rewrite E, <- A. unfold mid. destruct (V i); simpl. f_equal; ring.
    - lra. }
  pose proof Hi as Hi0. rewrite E in Hi0. destruct (Hinner t i j m Ht D Ci Cj Hm' Hi0) as (t' & I).
  pose proof I as (_ & Ht' & Dt & _ & _ & _ & Ci' & Cj').
  destruct Hi as (e & He & Hin). destruct (near V T p) as (e' & He' & Hn).
  assert (Only : forall q, ball p (Rmin e e') q -> exists u, (u = t \/ u = t') /\ closed (geo u) q).
  { intros q Hb. unfold ball in Hb.
    assert (Q : sheet d q) by (apply Hin; unfold ball; eapply Rlt_le_trans; [exact Hb|apply Rmin_l]).
    apply Hcover in Q. destruct Q as (u & Hu & Cu). exists u. split; auto. assert (Cp : closed (geo u) p).
    { apply (Hn q u); auto. unfold ball. eapply Rlt_le_trans; [exact Hb|apply Rmin_r]. }
    rewrite E in Cp. destruct (P2 t u i j m Ht Hu Ci Cj D Hm' Cp). apply (Htwo t t' u i j); auto. }
  pose proof (V_ne t i j Ht Ci Cj D) as VN.
  set (kap := (fst b - fst a) * (fst (V j) - fst (V i)) + (snd b - snd a) * (snd (V j) - snd (V i))) in *.
  set (nn := (fst (V j) - fst (V i)) * (fst (V j) - fst (V i)) + (snd (V j) - snd (V i)) * (snd (V j) - snd (V i))).
  assert (Nn : 0 < nn).
  { destruct (Rle_lt_or_eq_dec 0 nn) as [|Z]; auto; [unfold nn; apply Rplus_le_le_0_compat; apply Rle_0_sqr|]. exfalso.
    apply VN. symmetry in Z. destruct (Rplus_sqr_eq_0 (fst (V j) - fst (V i)) (snd (V j) - snd (V i)) Z).
    destruct (V i), (V j); simpl in *; f_equal; lra. }
  assert (Col : forall q, nn * left a b q = kap * left (V i) (V j) q) by (intro q;
    apply (colin (V i) (V j) a b q La Lb)).
  assert (Agree : forall q, left (V i) (V j) q = 0 -> Ft t q = Ft t' q).
  { intros q L. destruct (on_line_mid _ _ q VN L) as (s & ->). rewrite !Ft_mid, !(Ft_corner V W T); auto. }
  (* u1 on the left of a -> b, u2 on the right *)
  assert (Main : forall u1 u2, (u1 = t /\ u2 = t') \/ (u1 = t' /\ u2 = t) ->
    (forall q, closed (geo u1) q -> 0 <= left a b q) -> (forall q, closed (geo u2) q -> left a b q <= 0) ->
     exists eps sigma, 0 < eps /\ (sigma = 1 \/ sigma = -1) /\ rigid F sigma (fun q => ball p eps q /\ 0 <= left a b q)
       /\ rigid F (- sigma) (fun q => ball p eps q /\ left a b q <= 0)).
  { intros u1 u2 HU H1 H2. exists (Rmin e e'), (sg u1). split; [now apply Rmin_glb_lt|]. split; [apply sg_cases|].
    assert (Hu1 : In u1 T) by (destruct HU as [[-> _]|[-> _]]; auto).
    assert (Hu2 : In u2 T) by (destruct HU as [[_ ->]|[_ ->]]; auto).
    assert (S2 : - sg u1 = sg u2) by (destruct HU as [[-> ->]|[-> ->]]; rewrite (Sg t' I); ring).
    assert (Zero : forall q, left a b q = 0 -> Ft u1 q = Ft u2 q).
    { intros q L. assert (left (V i) (V j) q = 0).
    { pose proof (Col q) as Cq. rewrite L, Rmult_0_r in Cq. symmetry in Cq. apply Rmult_integral in Cq.
      destruct Cq; auto; contradiction. }
      destruct HU as [[-> ->]|[-> ->]]; [|symmetry]; now apply Agree. }
    assert (Pick : forall q, ball p (Rmin e e') q -> closed (geo u1) q \/ closed (geo u2) q).
    { intros q Hb. destruct (Only q Hb) as (u & [->| ->] & C); destruct HU as [[-> ->]|[-> ->]]; auto. }
    split.
    - destruct (Ft_rigid V W T Hccw Hcongr u1 Hu1) as (c & s & tx & ty & N & H). exists c, s, tx, ty. split; auto.
      intros q (Hb & L). rewrite <- H.
      destruct (Pick q Hb) as [C|C]; [exact (F_on V W T Hccw P1 P2 P3 Hne u1 q Hu1 C)|].
      rewrite (F_on V W T Hccw P1 P2 P3 Hne u2 q Hu2 C). symmetry. apply Zero. pose proof (H2 q C). lra.
    - rewrite S2. destruct (Ft_rigid V W T Hccw Hcongr u2 Hu2) as (c & s & tx & ty & N & H). exists c, s, tx, ty.
      split; auto. intros q (Hb & L). rewrite <- H.
      destruct (Pick q Hb) as [C|C]; [|exact (F_on V W T Hccw P1 P2 P3 Hne u2 q Hu2 C)].
      rewrite (F_on V W T Hccw P1 P2 P3 Hne u1 q Hu1 C). apply Zero. pose proof (H1 q C). lra. }
  assert (Sgn : forall x, 0 < kap -> (0 <= left (V i) (V j) x -> 0 <= left a b x) /\
    (left (V i) (V j) x <= 0 -> left a b x <= 0)).
  { intros x Kp0. pose proof (Col x). split; intro; nra. }
  assert (Sgn' : forall x, kap < 0 -> (0 <= left (V i) (V j) x -> left a b x <= 0) /\
    (left (V i) (V j) x <= 0 -> 0 <= left a b x)).
  { intros x Kp0. pose proof (Col x). split; intro; nra. }
  destruct (Rtotal_order kap 0) as [K|[K|K]]; [|contradiction|]; destruct (Hsides t t' i j I) as [[A B]|[A B]].
  - apply (Main t' t); auto; intros q C; apply Sgn'; auto.
  - apply (Main t t'); auto; intros q C; apply Sgn'; auto.
  - apply (Main t t'); auto; intros q C; apply Sgn; auto.
  - apply (Main t' t); auto; intros q C; apply Sgn; auto.
Qed.
Theorem is_fold_map : fold_map d F.
Proof. constructor; [exact (F_continuous V W T Hccw Hcongr P1 P2 P3 Hne d Hcover)|exact flat_part|exact fold_part]. Qed.
End FM.
