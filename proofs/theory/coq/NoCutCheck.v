(* The boolean check of refutations of a cut: target edges of which no two can lie on one snip ("apart"), or paper that
   is not target where every cut goes ("stray"). *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Edge Cut Top Number MeshCheck Mesh Chain
  FoldCheck LayerCheck CutCheck Field Evaluate Closure Inside Drawn FoldMapUnique NoCut Checker ClosureCheck Reached.
Import ListNotations.
Open Scope R_scope.
(* paper that is no target: a triangle, and the place on the line or segment, r/s of the way, at which it is met; an
   edge; a vertex *)
Inductive cell := CellFace (u : tr) (r s : Z) | CellEdge (k l : nat) | CellVertex (v : nat).
(* k + 1 target edges, and of each two why they are unfit: not on one line, or what is met in the gap between the second
   end of one and the first of the other (true: turn the edge round) *)
Inductive fault := Apart (es : list (nat * nat)) (why : nat * nat -> nat * nat -> option (bool * bool * cell)) | Stray
  (e : nat * nat) (c : cell).
Section Cells.
Variables (n : nat) (q : K) (E : list (Z * Z)) (img : nat -> kp) (T : list tr) (ts : list (nat * nat)).
Variables (inner_edges raws : list (nat * nat)).
Notation side := (side_of n q E). Notation dot x y z := (sgn E (kdot n q x y z)).
Definition lv (l : ln) (p : kp) := sub (sub (mul n q (ldx l) (snd p)) (mul n q (ldy l) (fst p))) (lc0 l).
Definition side_at l a b r s := sgn E (add (scale (s - r) (lv l a)) (scale r (lv l b))).
Definition place_in whole a b x := ispos (dot (img a) (img b) (img b)) && place_met n q E img whole a b (img x).
Definition amid k l a := iszero (side (line_of n q (img k) (img l)) (img a)) && ispos (dot (img k) (img l) (img a)) &&
  ispos (dot (img l) (img k) (img a)).
Definition opposite s r := (nonneg s && nonpos r) || (nonpos s && nonneg r).
Definition crosses whole a b k l := let m := line_of n q (img a) (img b) in let o := line_of n q (img k) (img l) in
  ((ispos (side m (img k)) && isneg (side m (img l))) || (isneg (side m (img k)) && ispos (side m (img l)))) &&
    (whole || opposite (side o (img a)) (side o (img b))).
Definition is_edge l (e : nat * nat) := existsb (fun x => Nat.eqb (fst x) (fst e) && Nat.eqb (snd x) (snd e)) l.
Definition check_cell whole a b (c : cell) := match c with
  | CellFace u r s => is_in T u && (0 <? s)%Z && (whole || ((0 <=? r) && (r <=? s))%Z) &&
    forallb (fun l => ispos (side_at l (img a) (img b) r s)) (lns (im n q img u))
  | CellEdge k l => is_edge inner_edges (k, l) && negb (edge_in k l ts) &&
    (crosses whole a b k l || amid k l a || amid k l b || (place_in whole a b k && place_in whole a b l))
  | CellVertex v => existsb (fun t => has t v) T && negb (vertex_in v raws) && negb (vertex_in v ts) &&
      (place_in whole a b v || iszero (dot (img a) (img v) (img v)) || iszero (dot (img b) (img v) (img v))) end.
Definition turned (b : bool) (e : nat * nat) := if b then (snd e, fst e) else e.
Definition check_unfit (e f : nat * nat) (w : option (bool * bool * cell)) := let l :=
  line_of n q (img (fst e)) (img (snd e)) in match w with
  | None => strict (side l (img (fst f))) || strict (side l (img (snd f)))
  | Some (x, y, c) => let '(i, u) := turned x e in let '(v, j) := turned y f in
      iszero (side l (img v)) && iszero (side l (img j)) && nonpos (dot (img u) (img i) (img v)) &&
        nonpos (dot (img v) (img j) (img u)) && nonpos (dot (img u) (img i) (img j)) &&
      check_cell false u v c end.
Fixpoint unfit_all (why : nat * nat -> nat * nat -> option (bool * bool * cell)) (es : list (nat * nat)) : bool :=
  match es with
  | [] => true | e :: r => forallb (fun f => check_unfit e f (why e f)) r && unfit_all why r end.
Definition check_fault snips (x : fault) := match x with
  | Apart es why => Nat.eqb (length es) (S snips) && forallb (fun e =>
    edge_in (fst e) (snd e) ts && is_edge inner_edges e) es && unfit_all why es
  | Stray e c => edge_in (fst e) (snd e) ts && is_edge inner_edges e &&
    check_cell (Nat.eqb snips 1) (fst e) (snd e) c end.
End Cells.
Section Bool.
Variables (D : document) (c : certificate).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f).
Notation D' := (renumber (vertex c) D). Notation T := (tris c).
Definition check_no_cut (t0 : tr) (l : list (nat * nat * (tr * tr))) (x : fault) := let ts :=
  flat_map steps (target_chains c) in
  Nat.leb 1 (w_snips D) && field_ok f && check_points D c && check_sheet D c && check_folded D c &&
    chains n q E (pts c) (goals D') (target_chains c) &&
  forallb (fun e => existsb (fun t => has t (fst e) && has t (snd e)) T) ts && all_reached c t0 l &&
  check_fault n q E (img c) T ts (map (fun x => let '(i, j, _, _) := x in (i, j)) (inners T)) (raw T) (w_snips D) x.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Notation d := (doc_at D V). Notation rp := (MeshCheck.rp alpha den).
Notation side := (side_of n q E). Notation dot x y z := (sgn E (kdot n q x y z)). Notation ts := (flat_map steps cs).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Hypothesis Hch : chains n q E pts (goals D) cs = true.
Hypothesis Hts : forallb (fun e => existsb (fun t => has t (fst e) && has t (snd e)) T) ts = true.
Notation inner_edges := (map (fun x : nat * nat * tr * tr => let '(i, j, _, _) := x in (i, j)) (inners T)).
Notation stray := (stray V W T d).
Lemma target_on_edge : forall p, on_target d p -> exists x y u m, In (x, y) ts /\ In u T /\ corner u x /\ corner u y /\
  V x <> V y /\ 0 <= m <= 1 /\ p = mid (V x) (V y) m.
Proof.
  intros p (a & b & Ig & Hp). apply in_map_iff in Ig. destruct Ig as ([a' b'] & Q & Ig). cbn [fst snd] in Q.
  injection Q as <- <-.
  destruct (chains_all n q E pts _ _ a' b' Hch Ig) as (vs & Iv & Cv).
  destruct (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a' b' vs Cv) as (_ & C2 & C3).
  destruct (C3 p Hp) as (i & j & J & r & Hr & Ep). destruct (C2 i j J) as (_ & _ & Nij).
  rewrite forallb_forall in Hts. assert (It : In (i, j) ts) by (apply in_flat_map; eauto). specialize (Hts _ It).
  cbn [fst snd] in Hts. apply existsb_exists in Hts. destruct Hts as (w & Hw & Q). apply andb_true_iff in Q.
  rewrite !has_iff in Q. destruct Q.
  exists i, j, w, r. repeat (split; [assumption|]). exact Ep.
Qed.
Lemma is_edge_ok : forall e, is_edge inner_edges e = true -> exists t t', inner T t t' (fst e) (snd e).
Proof.
  intros e H. unfold is_edge in H. apply existsb_exists in H. destruct H as (x & I & Q). apply in_map_iff in I.
  destruct I as ([[[i j] t] t'] & <- & I). cbn [fst snd] in Q. rewrite andb_true_iff, !Nat.eqb_eq in Q.
  destruct Q as [<- <-].
  exists t, t'. exact (inners_inner T t t' i j (m_ne V T d M) I).
Qed.
Lemma sides : forall a b p, (isneg (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) < 0) /\
  (ispos (side (line_of n q a b) p) = true -> 0 < left (rp a) (rp b) (rp p)) /\
  (nonpos (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) <= 0) /\
    (nonneg (side (line_of n q a b) p) = true -> 0 <= left (rp a) (rp b) (rp p)) /\
  (iszero (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) = 0) /\
    (strict (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) <> 0).
Proof. exact (side_cases n q E alpha S0 den Hn Hroot HS HE Hden). Qed.
Lemma dots : forall a b c, (isneg (dot a b c) = true -> dotp (rp a) (rp b) (rp c) < 0) /\
  (ispos (dot a b c) = true -> 0 < dotp (rp a) (rp b) (rp c)) /\
  (nonpos (dot a b c) = true -> dotp (rp a) (rp b) (rp c) <= 0) /\ (nonneg (dot a b c) = true ->
    0 <= dotp (rp a) (rp b) (rp c)).
Proof. exact (dot_cases n q E alpha S0 den Hn Hroot HS HE Hden). Qed.
Lemma dot_zero : forall a x, iszero (dot a x x) = true -> rp a = rp x.
Proof.
  intros a x H. pose proof (dot_sign n q E alpha S0 den Hn Hroot HS HE Hden a x x) as Z.
  destruct (sgn E (kdot n q a x x)); try discriminate. unfold dotp in Z. destruct (Rplus_sqr_eq_0 _ _ Z).
  destruct (rp a), (rp x); simpl in *. f_equal; lra.
Qed.
Lemma place_in_ok : forall whole a b x, place_in n q E img whole a b x = true -> along whole (W a) (W b) (W x).
Proof.
  intros whole a b x H. unfold place_in in H. apply andb_true_iff in H. destruct H as [H1 H2]. apply dots in H1.
  refine (place_met_ok n q E alpha S0 den img whole Hn Hroot HS HE Hden a b x _ H2). intro Q.
  unfold MeshCheck.place in Q. rewrite Q in H1. unfold dotp in H1. lra.
Qed.
Lemma along_mid : forall whole a b x y m, 0 <= m <= 1 -> along whole a b x -> along whole a b y ->
  along whole a b (mid x y m).
Proof.
  intros whole a b x y m Hm A B. unfold along in *. destruct whole; [rewrite left_mid, A, B; ring|].
  apply (seg_sub _ _ x y); auto. exists m. split; [exact Hm|reflexivity].
Qed.
Lemma along_ends : forall whole a b, along whole a b a /\ along whole a b b.
Proof. intros [|] a b; unfold along; [split; unfold left; ring|split; [apply seg_start|apply seg_end]]. Qed.
Lemma amid_ok : forall k l a, amid n q E img k l a = true -> exists m, 0 < m < 1 /\ W a = mid (W k) (W l) m.
Proof.
  intros k l a H. unfold amid in H. rewrite !andb_true_iff in H. destruct H as ((A & B) & C). apply sides in A.
  apply dots in B, C. fold (W k) in A, B, C. fold (W l) in A, B, C. fold (W a) in A, B, C.
  assert (N : W k <> W l) by (intro Q; rewrite Q in B; unfold dotp in B; lra).
  destruct (on_line_mid _ _ _ N A) as (m & Em). exists m. split; [|exact Em].
  assert (P : 0 < dotp (W k) (W l) (W l)) by (now apply (dot_ne)). rewrite Em in B, C.
  assert (E1 : dotp (W k) (W l) (mid (W k) (W l) m) = m * dotp (W k) (W l) (W l)) by (unfold dotp, mid; simpl; ring).
  assert (E2 : dotp (W l) (W k) (mid (W k) (W l) m) = (1 - m) * dotp (W k) (W l) (W l)) by (unfold dotp, mid; simpl;
    ring).
  rewrite E1 in B. rewrite E2 in C. split; nra.
Qed.
(* two segments that cross *)
Lemma cross_point : forall a b k l, 0 < left a b k -> left a b l < 0 ->
  exists m t, 0 < m < 1 /\ mid k l m = mid a b t /\ (left k l a * left k l b <= 0 -> 0 <= t <= 1).
Proof.
  intros a b k l P N. set (x := left a b k) in *. set (y := left a b l) in *. set (m := x / (x - y)).
  assert (Hm : 0 < m < 1).
  { unfold m. split; [apply Rdiv_lt_0_compat; lra|]. apply Rmult_lt_reg_r with (x - y); [lra|]. unfold Rdiv.
    rewrite Rmult_assoc, Rinv_l; lra. }
  assert (Nab : a <> b) by (intros ->; unfold x, left in P; lra).
  assert (Z : left a b (mid k l m) = 0) by (rewrite left_mid; fold x y; unfold m; field; lra).
  destruct (on_line_mid a b _ Nab Z) as (t & Et). exists m, t. split; [exact Hm|split; [exact Et|]]. intro Op.
  assert (Z' : (1 - t) * left k l a + t * left k l b = 0) by (rewrite <- left_mid, <- Et; apply left_ends).
  set (u := left k l a) in *. set (v := left k l b) in *.
  assert (Nuv : u <> v).
  { intro Q. assert (U0 : u = 0) by (rewrite <- Q in Z'; lra). assert (V0 : v = 0) by lra.
    assert (Nkl : k <> l) by (intros ->; unfold x, y in *; lra).
    pose proof (LayerCheck.three_on_line k l a b k Nkl U0 V0 ltac:(unfold left; ring)). unfold x in P. lra. }
  assert (W0 : t * (v - u) = - u) by lra. destruct (Rtotal_order u v) as [L|[L|L]]; [|contradiction|].
  - assert (u <= 0) by (apply Rnot_lt_le; intro; assert (0 < u * v) by (apply Rmult_lt_0_compat; lra); lra).
    assert (0 <= v) by (apply Rnot_lt_le; intro; assert (0 < - u * - v) by (apply Rmult_lt_0_compat; lra); lra).
    split; nra.
  - assert (0 <= u) by (apply Rnot_lt_le; intro; assert (0 < - u * - v) by (apply Rmult_lt_0_compat; lra); lra).
    assert (v <= 0) by (apply Rnot_lt_le; intro; assert (0 < u * v) by (apply Rmult_lt_0_compat; lra); lra). split; nra.
Qed.
Lemma crosses_ok : forall whole a b k l, crosses n q E img whole a b k l = true ->
  exists m, 0 < m < 1 /\ along whole (W a) (W b) (mid (W k) (W l) m).
Proof.
  intros whole a b k l H. unfold crosses in H. cbv zeta in H. apply andb_true_iff in H. destruct H as [H1 H2].
  assert (Op : whole = true \/ left (W k) (W l) (W a) * left (W k) (W l) (W b) <= 0).
  { apply orb_true_iff in H2. destruct H2 as [H2|H2]; [now left|right]. unfold opposite in H2.
    rewrite orb_true_iff, !andb_true_iff in H2. unfold MeshCheck.place.
    destruct H2 as [(A & B)|(A & B)]; apply sides in A, B; nra. }
  assert (Core : forall k l, 0 < left (W a) (W b) (W k) -> left (W a) (W b) (W l) < 0 ->
    whole = true \/ left (W k) (W l) (W a) * left (W k) (W l) (W b) <= 0 ->
    exists m, 0 < m < 1 /\ along whole (W a) (W b) (mid (W k) (W l) m)).
  { clear. intros k l P N Op. destruct (cross_point _ _ _ _ P N) as (m & t & Hm & Et & Rg). exists m.
    split; [exact Hm|]. rewrite Et. destruct whole; unfold along; [apply left_ends|].
    destruct Op as [Op|Op]; [discriminate|]. exists t. split; [auto|reflexivity]. }
  rewrite orb_true_iff, !andb_true_iff in H1. destruct H1 as [(A & B)|(A & B)]; apply sides in A, B.
  - now apply Core.
  - destruct (Core l k B A) as (m & Hm & Al); [destruct Op as [Op|Op];
      [now left|right; rewrite (left_swap (W k) (W l) (W a)), (left_swap (W k) (W l) (W b)); lra]|].
    exists (1 - m). split; [lra|].
    replace (mid (W k) (W l) (1 - m)) with (mid (W l) (W k) m) by (unfold mid; f_equal; ring). exact Al.
Qed.
Lemma lv_val : forall a b p, val alpha (lv n q (line_of n q a b) p) = (den * den) * left (rp a) (rp b) (rp p).
Proof.
  intros. rewrite <- (kleft_val n q alpha den Hn Hroot Hden). unfold lv, line_of, kleft; simpl.
  repeat (rewrite ?(val_sub alpha), ?(val_mul n q alpha Hroot) by auto). ring.
Qed.
Lemma side_at_ok : forall x y a b r s, (0 < s)%Z -> ispos (side_at n q E (line_of n q x y) a b r s) = true ->
  0 < left (rp x) (rp y) (mid (rp a) (rp b) (IZR r / IZR s)).
Proof.
  intros x y a b r s Hs H. apply IZR_lt in Hs. unfold side_at in H.
  pose proof (sgn_ok alpha S0 HS E (add (scale (s - r) (lv n q (line_of n q x y) a))
    (scale r (lv n q (line_of n q x y) b))) HE) as P.
  destruct (sgn E _); try discriminate.
  rewrite (val_add alpha), !(val_scale alpha), !lv_val, minus_IZR in P. rewrite left_mid.
  set (A := left (rp x) (rp y) (rp a)) in *. set (B := left (rp x) (rp y) (rp b)) in *.
  apply Rmult_lt_reg_l with (den * den * IZR s); [apply Rmult_lt_0_compat; [now apply den2|exact Hs]|].
  rewrite Rmult_0_r.
  replace (den * den * IZR s * ((1 - IZR r / IZR s) * A + IZR r / IZR s * B)) with
    ((IZR s - IZR r) * (den * den * A) + IZR r * (den * den * B)) by (field; lra).
  exact P.
Qed.
(* round a vertex without raw edges *)
Lemma all_inner : forall v u j, vertex_in v (raw T) = false -> In u T -> corner u v -> corner u j -> v <> j ->
  exists u', inner T u u' v j.
Proof.
  intros v u j H Hu Uv Uj N.
  assert (X : exists e, In e (edges_of T) /\ ((fst e = v /\ snd e = j) \/ (fst e = j /\ snd e = v))).
  { destruct (tpairs_in u v j Uv Uj N) as [I|I]; [exists (v, j)|exists (j, v)];
      (split; [apply in_flat_map; exists u; auto|simpl; auto]). }
  destruct X as (e & Ie & Ev). destruct (edge_in (fst e) (snd e) inner_edges) eqn:Q.
  - apply edge_in_ok in Q. assert (P : exists t t', inner T t t' v j).
    { assert (Y : forall a b, In (a, b) inner_edges -> exists t t', inner T t t' a b).
    { intros a b I. apply in_map_iff in I. destruct I as ([[[i k] t] t'] & R & I). injection R as <- <-. exists t, t'.
      exact (inners_inner T t t' i k (m_ne V T d M) I). }
      assert (Sy : forall a b, (exists t t', inner T t t' a b) -> exists t t', inner T t t' b a).
      { intros a b (t & t' & A1 & A2 & A3 & A4 & A5 & A6 & A7 & A8). exists t, t'. unfold inner. auto 12. }
      destruct Ev as [[<- <-]|[<- <-]], Q as [Q|Q]; auto. }
    destruct P as (t & t' & I). pose proof I as (A1 & A2 & A3 & A4 & A5 & A6 & A7 & A8).
    destruct (m_two V T d M t t' u v j I Hu Uv Uj) as [-> | ->]; [exists t'; exact I|exists t; unfold inner; auto 12].
  - exfalso. assert (R : In e (raw T)) by (apply filter_In; split; [exact Ie|cbv zeta; now rewrite Q]).
    enough (vertex_in v (raw T) = true) by congruence.
    unfold vertex_in. apply existsb_exists. exists e. split; [exact R|]. apply orb_true_iff. rewrite !Nat.eqb_eq.
    destruct Ev as [[-> _]|[_ ->]]; auto.
Qed.
(* a place on the left of all sides of a triangle's image is the image of a place inside it *)
Lemma inside_image : forall u y, In u T -> 0 < left (W (ci (it u))) (W (cj (it u))) y ->
  0 < left (W (cj (it u))) (W (ck (it u))) y -> 0 < left (W (ck (it u))) (W (ci (it u))) y ->
  0 < sg u * left (W (ci u)) (W (cj u)) y /\ 0 < sg u * left (W (cj u)) (W (ck u)) y /\
    0 < sg u * left (W (ck u)) (W (ci u)) y.
Proof.
  intros u y Hu L1 L2 L3. unfold sg, it in *. destruct (tu u); cbn [ci cj ck] in *; [|lra].
  rewrite (left_swap (W (ci u)) (W (cj u))) in L3. rewrite (left_swap (W (cj u)) (W (ck u))) in L2.
  rewrite (left_swap (W (ck u)) (W (ci u))) in L1. lra.
Qed.
Lemma cell_ok : forall whole a b c, check_cell n q E img T ts inner_edges (raw T) whole a b c = true ->
  stray whole (W a) (W b).
Proof.
  intros whole a b [u r s|k l|v] H; cbn [check_cell] in H; rewrite !andb_true_iff in H.
  - destruct H as (((Hu & Hs) & Hr) & Hl). apply is_in_ok in Hu. apply Z.ltb_lt in Hs. simpl in Hl.
    rewrite !andb_true_iff in Hl. destruct Hl as (L1 & L2 & L3 & _). apply (side_at_ok _ _ _ _ _ _ Hs) in L1, L2, L3.
    apply (stray_face V W T d M Fo whole (W a) (W b) u (mid (W a) (W b) (IZR r / IZR s)) Hu).
    + intros p O. apply (off_drawn V T d ts (on_target d) M target_on_edge u p Hu O).
    + now apply inside_image. + now apply inside_image. + now apply inside_image.
    + destruct whole; unfold along; [apply left_ends|]. simpl in Hr. apply andb_true_iff in Hr. rewrite !Z.leb_le in Hr.
      destruct Hr as [R1 R2]. apply IZR_le in R1, R2. apply IZR_lt in Hs.
      exists (IZR r / IZR s). split; [|reflexivity].
      split; [apply Rmult_le_pos; [lra|left; now apply Rinv_0_lt_compat]|]. apply Rmult_le_reg_r with (IZR s); [lra|].
      unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
  - destruct H as ((He & Hn') & Hm). destruct (is_edge_ok _ He) as (u & u' & I). cbn [fst snd] in I.
    apply negb_true_iff in Hn'. pose proof I as (Hu & _ & _ & N & Uk & Ul & _).
    assert (X : exists m, 0 < m < 1 /\ along whole (W a) (W b) (mid (W k) (W l) m)).
    { rewrite !orb_true_iff, andb_true_iff in Hm. destruct (along_ends whole (W a) (W b)) as (Ea & Eb).
      destruct Hm as [[[H|H]|H]|[A B]]; [now apply crosses_ok| | |].
      - apply amid_ok in H. destruct H as (m & Hm & Q). exists m. split; [exact Hm|]. now rewrite <- Q.
      - apply amid_ok in H. destruct H as (m & Hm & Q). exists m. split; [exact Hm|]. now rewrite <- Q.
      - exists (1 / 2). split; [lra|]. apply along_mid; [lra| |]; now apply place_in_ok. }
    destruct X as (m & Hm' & Al). apply (stray_edge V W T d M whole _ _ u u' k l m I Hm'); [|exact Al]. intro Tg.
    rewrite (along_drawn V T d ts (on_target d) M target_on_edge u k l m Hu Uk Ul N Hm' Tg) in Hn'. discriminate.
  - destruct H as (((He & Hr) & Ht) & Hm). apply existsb_exists in He. destruct He as (u & Hu & Uv).
    apply has_iff in Uv. apply negb_true_iff in Hr, Ht.
    apply (stray_vertex V W T d M whole _ _ u v Hu Uv).
    + apply (vertex_inside V T d M u v Hu Uv). intros w j Hw Wv Wj N. exact (all_inner v w j Hr Hw Wv Wj N).
    + intro Tg. rewrite (corner_drawn V T d ts (on_target d) M target_on_edge u v Hu Uv Tg) in Ht. discriminate.
    + destruct (along_ends whole (W a) (W b)) as (Ea & Eb). rewrite !orb_true_iff in Hm.
      destruct Hm as [[H|H]|H]; [now apply place_in_ok| |]; apply dot_zero in H; fold (W v) in H;
        [fold (W a) in H|fold (W b) in H]; now rewrite <- H.
Qed.
Lemma unfit_ok : forall e f w, check_unfit n q E img T ts inner_edges (raw T) e f w = true -> unfit V W T d e f.
Proof.
  intros e f [[[x y] c]|] H; unfold check_unfit in H; cbv zeta in H.
  - destruct (turned x e) as [i u] eqn:Ee, (turned y f) as [v l] eqn:Ef. rewrite !andb_true_iff in H.
    destruct H as (((((H1 & H2) & H3) & H4) & H5) & H6). apply sides in H1, H2. apply dots in H3, H4, H5.
    apply cell_ok in H6.
    right; right. exists i, u, v, l. destruct e as [e1 e2], f as [f1 f2]. unfold turned in *. cbn [fst snd] in *.
    unfold MeshCheck.place in *.
    destruct x; injection Ee as <- <-; destruct y; injection Ef as <- <-; (split; [auto|split; [auto|]]);
      rewrite ?(left_swap (rp (img e1)) (rp (img e2))); repeat split; auto; lra.
  - apply orb_true_iff in H. destruct H as [H|H]; apply sides in H; [left|right; left]; exact H.
Qed.
Lemma unfit_all_ok : forall why es, unfit_all n q E img T ts inner_edges (raw T) why es = true ->
  ForallOrdPairs (unfit V W T d) es.
Proof.
  induction es as [|e es IH]; intro H; constructor; cbn [unfit_all] in H; apply andb_true_iff in H;
    destruct H as [H1 H2]; auto.
  rewrite forallb_forall in H1. apply Forall_forall. intros f If. exact (unfit_ok e f _ (H1 f If)).
Qed.
Theorem fault_ok : forall k x, (1 <= k)%nat -> check_fault n q E img T ts inner_edges (raw T) k x = true ->
  ~ is_cut d (F V W T) k.
Proof.
  intros k x Hk H (One & More).
  assert (Tg : forall e m, edge_in (fst e) (snd e) ts = true -> 0 < m < 1 ->
    on_target d (mid (V (fst e)) (V (snd e)) m)).
  { intros e m He Hm. apply (target_edge n q E alpha S0 den pts D cs Hn Hroot HS HE Hden Hch); auto; lra. }
  destruct x as [es why|e c]; cbn [check_fault] in H; rewrite !andb_true_iff in H.
  - destruct H as ((Len & Es) & Un). apply Nat.eqb_eq in Len. rewrite forallb_forall in Es. apply unfit_all_ok in Un.
    assert (Es' : forall e, In e es -> edge_in (fst e) (snd e) ts = true /\ exists t t', inner T t t' (fst e) (snd e)).
    { intros e I. specialize (Es e I). apply andb_true_iff in Es. destruct Es as [A B].
      split; [exact A|now apply is_edge_ok]. }
    destruct (Nat.eq_dec k 1) as [-> |Nk].
    + destruct es as [|e [|f [|]]]; try discriminate.
      destruct (Es' e (or_introl eq_refl)) as (Te & t & t' & Ie), (Es' f (or_intror (or_introl eq_refl))) as
        (Tf & s & s' & If).
      inversion Un as [|? ? HF _]; subst. inversion HF as [|? ? U _]; subst. destruct U as [U|[U|U]].
      * exact (no_line_apart V W T d M t t' s s' _ _ _ _ Ie If (fun m => Tg e m Te) (fun m => Tg f m Tf) U
          (One eq_refl)).
      * refine (no_line_apart V W T d M t t' s s' _ _ (snd f) (fst f) Ie _ (fun m => Tg e m Te) _ U (One eq_refl));
          [destruct If as (A1 & A2 & A3 & A4 & A5 & A6 & A7 & A8); unfold inner; auto 12|].
        intros m Hm. rewrite Cmid_sym. apply Tg; auto. lra.
      * destruct U as (i & u & v & l & Ee & Ef & L1 & L2 & _ & _ & _ & (p & In_ & Np & Al)). apply Np.
        destruct (One eq_refl) as (ln & P & Cu). apply (proj2 Cu p In_).
        assert (On : on_line ln (W u) /\ on_line ln (W v)).
        { destruct (ends_on V W T d M t t' _ _ ln Ie (fun m => Tg e m Te) Cu) as (A & B),
            (ends_on V W T d M s s' _ _ ln If (fun m => Tg f m Tf) Cu) as (A' & B').
          destruct Ee as [-> | ->], Ef as [-> | ->]; cbn [fst snd] in *; auto. }
        destruct On as (Ou & Ov). destruct Al as (m & Hm & ->). destruct ln as [[A B] C].
        unfold on_line in *; cbn [fst snd].
        transitivity ((1 - m) * (A * fst (W u) + B * snd (W u)) + m * (A * fst (W v) + B * snd (W v)));
          [ring|rewrite Ou, Ov; ring].
    + refine (no_snips_apart V W T d M Fo k es Len (fun e I => proj2 (Es' e I)) (fun e m I => Tg e m (proj1 (Es' e I)))
        Un (More _)).
      lia.
  - destruct H as ((Te & He) & Hc). destruct (is_edge_ok e He) as (t & t' & I). apply cell_ok in Hc.
    destruct (Nat.eqb_spec k 1) as [-> |Nk].
    + exact (no_line_stray V W T d M Fo t t' _ _ I (fun m => Tg e m Te) Hc (One eq_refl)).
    + refine (no_snips_stray V W T d M k t t' _ _ I (fun m => Tg e m Te) Hc (More _)). lia.
Qed.
End Sound.
Theorem no_cut_sound : sound_refuted (certificate * (tr * list (nat * nat * (tr * tr)) * fault)) (fun D x =>
  check_no_cut D (fst x) (fst (fst (snd x))) (snd (fst (snd x))) (snd (snd x))).
Proof.
  intros D [c [[t0 l] x]] H d Md (G & above & FG & LO & C1 & C2). cbn [fst snd] in H. unfold check_no_cut in H.
  cbv zeta in H. rewrite !andb_true_iff in H.
  destruct H as ((((((((H0 & H1) & H2) & H3) & H4) & H5) & H6) & H7) & H8). apply Nat.leb_le in H0.
  destruct (field_sound _ H1) as (Hn & alpha & Hr & HE). pose proof (points_ok D c alpha Hn Hr HE H2) as Mp.
  rewrite (means_one D d _ Md Mp) in *. clear d Md.
  destruct (only_fold_map D c alpha Hn Hr HE t0 l H3 H4 H7) as (M & Fo & _ & Un).
  apply (no_cut_for_all _ _ (w_snips D) Un); [exact (fault_ok _ _ _ alpha _ _ (pts c) (img c) (tris c) _
    (target_chains c) Hn Hr (size_pos _) HE (pos_pos _) M Fo H5 H6 (w_snips D) x H0 H8)|].
  exists G, above. split; [exact FG|split; [exact LO|split; assumption]].
Qed.
