(* A boolean check of the cut that suffices for the record "cuts" of Top.v: one line, or several segments, of the folded
   plane. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Cut Edge Top Unique Number MeshCheck Mesh
  Chain FoldCheck LayerCheck.
Import ListNotations.
Open Scope R_scope.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (img : nat -> kp) (T : list tr) (whole : bool) (snips : list (nat * nat))
  (ts : list (nat * nat)).
Notation side := (side_of n q E). Notation dot x y z := (sgn E (kdot n q x y z)).
Definition raw := let pairs := map (fun x => let '(i, j, _, _) := x in (i, j)) (inners T) in filter (fun e =>
  negb (edge_in (fst e) (snd e) pairs)) (edges_of T).
Definition line_misses l x y := let s := side l x in let r := side l y in (nonneg s && nonneg r && (ispos s || ispos r))
  || (nonpos s && nonpos r && (isneg s || isneg r)).
(* the open image of a triangle; of an edge from x to y; the image x of a vertex *)
Definition tri_missed a b (r : rt) := let l := line_of n q (img a) (img b) in forallb (fun p => nonneg (side l p))
  (cps r) || beyond n q E l (cps r) ||
  (negb whole && existsb (fun m => beyond n q E m [img a; img b]) (lns r)).
Definition end_beside x y a b := iszero (side (line_of n q x y) a) && strict (side (line_of n q x y) b) &&
  (nonpos (dot x y a) || nonpos (dot y x a)).
Definition edge_missed a b x y := line_misses (line_of n q (img a) (img b)) x y || (negb whole &&
  ((ispos (side (line_of n q x y) (img a)) && ispos (side (line_of n q x y) (img b))) ||
    (isneg (side (line_of n q x y) (img a)) && isneg (side (line_of n q x y) (img b))) ||
   (nonpos (dot x y (img a)) && nonpos (dot x y (img b))) || (nonpos (dot y x (img a)) && nonpos (dot y x (img b))) ||
   end_beside x y (img a) (img b) || end_beside x y (img b) (img a))).
Definition place_missed a b x := strict (side (line_of n q (img a) (img b)) x) ||
  (negb whole && (isneg (dot (img a) (img b) x) || isneg (dot (img b) (img a) x))).
Definition place_met a b x := iszero (side (line_of n q (img a) (img b)) x) &&
  (whole || (nonneg (dot (img a) (img b) x) && nonneg (dot (img b) (img a) x))).
Definition check_cut := let raws := raw in
  forallb (fun ab => let '(a, b) := ab in ispos (dot (img a) (img b) (img b)) &&
    forallb (fun t => tri_missed a b (im n q img t)) T &&
    forallb (fun e => edge_in (fst e) (snd e) ts || edge_in (fst e) (snd e) raws ||
      edge_missed a b (img (fst e)) (img (snd e))) (edges_of T) &&
    forallb (fun t => forallb (fun i => vertex_in i ts || vertex_in i raws || place_missed a b (img i)) (corners t)) T)
      snips &&
  forallb (fun e => existsb (fun t => has t (fst e) && has t (snd e)) T &&
    (edge_in (fst e) (snd e) raws || existsb (fun ab => place_met (fst ab) (snd ab) (img (fst e)) &&
      place_met (fst ab) (snd ab) (img (snd e))) snips)) ts.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)) (whole : bool) (snips : list (nat * nat)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Notation d := (doc_at D V).
Notation rp := (rp alpha den). Notation side := (side_of n q E). Notation dot x y z := (sgn E (kdot n q x y z)).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation Ccw := (m_ccw V T d M). Notation Cg := (f_congr V W T d Fo). Notation ts := (flat_map steps cs).
Hypothesis Hch : chains n q E pts (goals D) cs = true.
Definition met (a b : nat) (p : pt) := if whole then left (W a) (W b) p = 0 else on_seg (W a) (W b) p.
Definition blade (p : pt) := exists a b, In (a, b) snips /\ met a b p.
Lemma met_left : forall a b p, met a b p -> left (W a) (W b) p = 0.
Proof.
  intros a b p H. unfold met in H. destruct whole; auto. destruct H as (t & _ & ->). fold (mid (W a) (W b) t).
  apply left_ends.
Qed.
Lemma met_mid : forall a b x y m, met a b x -> met a b y -> 0 <= m <= 1 -> met a b (mid x y m).
Proof.
  intros a b x y m A B Hm. unfold met in *. destruct whole; [rewrite left_mid, A, B; ring|].
  apply (seg_sub _ _ x y); auto. exists m. split; [exact Hm|reflexivity].
Qed.
(* raw edges and their ends are not inside *)
Lemma raw_edge : forall i j m, edge_in i j (raw T) = true -> 0 < m < 1 -> ~ inside d (mid (V i) (V j) m).
Proof.
  assert (X : forall i j m, In (i, j) (raw T) -> 0 < m < 1 -> ~ inside d (mid (V i) (V j) m)).
  { intros i j m H Hm In_. unfold raw in H. apply filter_In in H. destruct H as [H1 H2]. cbn [fst snd] in H2.
    apply negb_true_iff in H2. unfold edges_of in H1. apply in_flat_map in H1. destruct H1 as (t & Ht & H1).
    destruct (tpairs_corner t i j H1) as [Ci Cj]. assert (Nij : i <> j).
    { destruct (m_ne _ _ _ M t Ht) as (A & B & C). simpl in H1.
      destruct H1 as [H1|[H1|[H1|[]]]]; injection H1 as <- <-; auto. }
    destruct (m_inner V T d M t i j m Ht Nij Ci Cj Hm In_) as (t' & I). rewrite edge_in_yes in H2; [discriminate|].
    destruct (inners_in T t t' i j I) as [J|J]; [left|right]; apply in_map_iff; eexists; (split; [|exact J]);
      reflexivity. }
  intros i j m H Hm. apply edge_in_ok in H. destruct H as [H|H]; [now apply X|]. rewrite mid_sym. apply X; auto. lra.
Qed.
Lemma inside_near : forall p, inside d p -> exists e, 0 < e /\ forall r, ball p e r -> inside d r.
Proof.
  intros p (e & He & H). exists e. split; auto. intros r Hr. unfold ball in *. exists (e - dist p r). split; [lra|].
  intros x Hx. unfold ball in *. apply H. pose proof (dist_tri p r x). lra.
Qed.
Lemma raw_vertex : forall i, vertex_in i (raw T) = true -> ~ inside d (V i).
Proof.
  intros i H In_. destruct (inside_near _ In_) as (e & He & Near). destruct (vertex_in_ok i _ H) as (j & J).
  destruct (mid_near (V i) (mid (V i) (V j) (1 / 2)) e He) as (t & Ht & Hb). rewrite mid_mid_l in Hb.
  apply (raw_edge i j (1 / 2 * t)); [now apply edge_in_yes|lra|]. exact (Near _ Hb).
Qed.
Lemma target_step : forall i j, In (i, j) ts -> exists a b, In (a, b) (target d) /\ on_seg a b (V i) /\
  on_seg a b (V j).
Proof.
  intros i j H. apply in_flat_map in H. destruct H as (vs & Iv & H).
  destruct (chains_back n q E pts _ _ vs Hch Iv) as (a & b & Ig & C).
  destruct (proj1 (proj2 (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a b vs C)) i j H) as (A & B & _).
  exists (V a), (V b). split; auto. apply in_map_iff. exists (a, b). auto.
Qed.
Lemma target_edge : forall i j m, edge_in i j ts = true -> 0 <= m <= 1 -> on_target d (mid (V i) (V j) m).
Proof.
  assert (X : forall i j m, In (i, j) ts -> 0 <= m <= 1 -> on_target d (mid (V i) (V j) m)).
  { intros i j m I Hm. destruct (target_step i j I) as (a & b & Ig & A & B). exists a, b. split; auto.
    apply (seg_sub _ _ (V i) (V j)); auto. exists m. split; [exact Hm|reflexivity]. }
  intros i j m H Hm. apply edge_in_ok in H. destruct H as [H|H]; [now apply X|]. rewrite mid_sym. apply X; auto. lra.
Qed.
Lemma target_vertex : forall i, vertex_in i ts = true -> on_target d (V i).
Proof.
  intros i H. destruct (vertex_in_ok i _ H) as (j & J). rewrite <- (mid_0 (V i) (V j)).
  apply target_edge; [now apply edge_in_yes|lra].
Qed.
Lemma side_cases : forall a b p, (isneg (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) < 0) /\
  (ispos (side (line_of n q a b) p) = true -> 0 < left (rp a) (rp b) (rp p)) /\
  (nonpos (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) <= 0) /\
    (nonneg (side (line_of n q a b) p) = true -> 0 <= left (rp a) (rp b) (rp p)) /\
  (iszero (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) = 0) /\
    (strict (side (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) <> 0).
Proof.
  intros a b p. pose proof (side_ok n q E alpha S0 den Hn Hroot HS HE Hden a b p).
  destruct (side_of _ _ _ _ _); repeat split; intro; try discriminate; try lra; intro; lra.
Qed.
Lemma dot_cases : forall a b c, (isneg (dot a b c) = true -> dotp (rp a) (rp b) (rp c) < 0) /\
  (ispos (dot a b c) = true -> 0 < dotp (rp a) (rp b) (rp c)) /\
  (nonpos (dot a b c) = true -> dotp (rp a) (rp b) (rp c) <= 0) /\ (nonneg (dot a b c) = true ->
    0 <= dotp (rp a) (rp b) (rp c)).
Proof.
  intros a b c. pose proof (dot_sign n q E alpha S0 den Hn Hroot HS HE Hden a b c).
  destruct (sgn E _); repeat split; intro; try discriminate; lra.
Qed.
Lemma dot_mid : forall a b c e u, dotp a b (mid c e u) = (1 - u) * dotp a b c + u * dotp a b e.
Proof. intros; unfold dotp, mid; simpl; ring. Qed.
Lemma dot_aa : forall a b, dotp a b a = 0. Proof. intros; unfold dotp; ring. Qed.
Lemma dot_bb : forall a b, 0 <= dotp a b b.
Proof. intros. unfold dotp. apply Rplus_le_le_0_compat; apply Rle_0_sqr. Qed.
Lemma dot_ne : forall a b, a <> b -> 0 < dotp a b b.
Proof.
  intros a b N. destruct (Rle_lt_or_eq_dec 0 (dotp a b b) (dot_bb a b)) as [L|L]; auto. exfalso. apply N. symmetry in L.
  unfold dotp in L. destruct (Rplus_sqr_eq_0 _ _ L). destruct a, b; simpl in *. f_equal; lra.
Qed.
Lemma tri_missed_ok : forall a b t x, In t T -> W a <> W b -> tri_missed n q E img whole a b (im n q img t) = true ->
  open (geo V t) x -> ~ met a b (Ft V W t x).
Proof.
  intros a b t x Ht N H O Hm. apply (proj1 (img_signs alpha den pts img T D M Fo t x Ht)) in O.
  pose proof (img_ccw alpha den pts img T D M Fo t Ht) as HC. pose proof (met_left a b _ Hm) as Z.
  unfold tri_missed in H. cbv zeta in H. rewrite !orb_true_iff in H.
  destruct H as [[H|H]|H].
  - simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _). apply side_cases in A1, A2, A3.
    assert (X : 0 < left (W a) (W b) (Ft V W t x)); [|lra]. apply (open_front alpha den img _ _ (it t)); auto.
    intros k [-> | [-> | ->]]; assumption.
  - unfold beyond in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
    apply side_cases in A1, A2, A3.
    assert (X : 0 < left (W b) (W a) (Ft V W t x)); [|rewrite left_swap in X; lra].
    apply (open_front alpha den img _ _ (it t)); auto.
    intros k [-> | [-> | ->]]; rewrite left_swap; unfold MeshCheck.place; lra.
  - apply andb_true_iff in H. destruct H as [Hw H]. apply negb_true_iff in Hw. unfold met in Hm. rewrite Hw in Hm.
    destruct Hm as (s & Hs & Ep). fold (mid (W a) (W b) s) in Ep.
    destruct (ex_lines n q alpha den img (it t) _ H) as (c & c' & B & _ & P). specialize (P _ O). unfold beyond in B.
    simpl in B. rewrite !andb_true_iff in B. destruct B as (B1 & B2 & _). apply side_cases in B1, B2.
    rewrite Ep, left_mid in P. unfold MeshCheck.place in *. nra.
Qed.
Lemma edge_missed_ok : forall a b i j r, W i <> W j -> edge_missed n q E img whole a b (img i) (img j) = true ->
  0 < r < 1 -> ~ met a b (mid (W i) (W j) r).
Proof.
  intros a b i j r Nij H Hr Hm. pose proof (met_left a b _ Hm) as Z. rewrite left_mid in Z. unfold edge_missed in H.
  apply orb_true_iff in H. destruct H as [H|H].
  - unfold line_misses in H. cbv zeta in H. rewrite orb_true_iff, !andb_true_iff, !orb_true_iff in H.
    unfold MeshCheck.place in *. destruct H as [((A & B) & C)|((A & B) & C)]; apply side_cases in A, B.
    + destruct C as [C|C]; apply side_cases in C; nra. + destruct C as [C|C]; apply side_cases in C; nra.
  - apply andb_true_iff in H. destruct H as [Hw H]. apply negb_true_iff in Hw. unfold met in Hm. rewrite Hw in Hm.
    destruct Hm as (s & Hs & Ep). fold (mid (W a) (W b) s) in Ep. clear Z.
    pose proof (left_ends (W i) (W j) r) as L. pose proof (dot_mid (W i) (W j) (W i) (W j) r) as D1.
    rewrite dot_aa in D1. pose proof (dot_mid (W j) (W i) (W i) (W j) r) as D2. rewrite dot_aa in D2.
    pose proof (dot_ne _ _ Nij) as P1. assert (P2 : 0 < dotp (W j) (W i) (W i)) by (apply dot_ne; auto).
    assert (Q1 : 0 < dotp (W i) (W j) (mid (W a) (W b) s)) by (rewrite <- Ep, D1; nra).
    assert (Q2 : 0 < dotp (W j) (W i) (mid (W a) (W b) s)) by (rewrite <- Ep, D2; nra).
    rewrite Ep, left_mid in L. rewrite dot_mid in Q1, Q2.
    assert (Beside : forall e f u, 0 <= u <= 1 -> end_beside n q E (img i) (img j) (img e) (img f) = true ->
      (1 - u) * left (W i) (W j) (W e) + u * left (W i) (W j) (W f) = 0 ->
       0 < (1 - u) * dotp (W i) (W j) (W e) + u * dotp (W i) (W j) (W f) ->
         0 < (1 - u) * dotp (W j) (W i) (W e) + u * dotp (W j) (W i) (W f) -> False).
    { intros e f u Hu He L0 R1 R2. unfold end_beside in He. rewrite !andb_true_iff, orb_true_iff in He.
      destruct He as ((A & B) & C). apply side_cases in A, B. unfold MeshCheck.place in *.
      rewrite A, Rmult_0_r, Rplus_0_l in L0. apply Rmult_integral in L0. destruct L0 as [L0|L0]; [|contradiction].
      subst u. destruct C as [C|C]; apply dot_cases in C; lra. }
    unfold MeshCheck.place in *. rewrite !orb_true_iff, !andb_true_iff in H.
    destruct H as [[[[[(A & B)|(A & B)]|(A & B)]|(A & B)]|A]|A].
    + apply side_cases in A, B. nra.
    + apply side_cases in A, B. nra.
    + apply dot_cases in A, B. nra.
    + apply dot_cases in A, B. nra.
    + exact (Beside a b s Hs A L Q1 Q2).
    + apply (Beside b a (1 - s)); auto; lra.
Qed.
Lemma place_missed_ok : forall a b i, place_missed n q E img whole a b (img i) = true -> ~ met a b (W i).
Proof.
  intros a b i H Hm. pose proof (met_left a b _ Hm) as Z. unfold place_missed in H. apply orb_true_iff in H.
  destruct H as [H|H].
  - apply side_cases in H. contradiction.
  - apply andb_true_iff in H. destruct H as [Hw H]. apply negb_true_iff in Hw. unfold met in Hm. rewrite Hw in Hm.
    destruct Hm as (s & Hs & Ep). fold (mid (W a) (W b) s) in Ep.
    apply orb_true_iff in H. pose proof (dot_mid (W a) (W b) (W a) (W b) s) as D1.
    pose proof (dot_mid (W b) (W a) (W a) (W b) s) as D2. rewrite dot_aa in D1, D2.
    pose proof (dot_bb (W a) (W b)). pose proof (dot_bb (W b) (W a)). rewrite <- Ep in D1, D2.
    destruct H as [H|H]; apply dot_cases in H; unfold MeshCheck.place in *; nra.
Qed.
Lemma place_met_ok : forall a b i, W a <> W b -> place_met n q E img whole a b (img i) = true -> met a b (W i).
Proof.
  intros a b i N H. unfold place_met in H. apply andb_true_iff in H. destruct H as [A B]. apply side_cases in A.
  unfold met. destruct whole; auto. simpl in B. apply andb_true_iff in B. destruct B as [B C].
  apply dot_cases in B, C. destruct (on_line_mid (W a) (W b) (W i) N A) as (s & Es). exists s. split; [|exact Es].
  pose proof (dot_ne _ _ N) as P. assert (P' : 0 < dotp (W b) (W a) (W a)) by (apply dot_ne; auto). fold (W a) in B, C.
  fold (W b) in B, C. fold (W i) in B, C.
  rewrite Es, dot_mid, dot_aa in B, C. split; nra.
Qed.
Theorem cuts_of_check : check_cut n q E img T whole snips ts = true -> cuts V W T d blade.
Proof.
  intro H. unfold check_cut in H. cbv zeta in H. apply andb_true_iff in H. destruct H as [H1 H2].
  rewrite forallb_forall in H1, H2.
  assert (Sn : forall a b, In (a, b) snips -> W a <> W b /\ (forall t, In t T ->
    tri_missed n q E img whole a b (im n q img t) = true) /\
    (forall e, In e (edges_of T) -> edge_in (fst e) (snd e) ts || edge_in (fst e) (snd e) (raw T) ||
      edge_missed n q E img whole a b (img (fst e)) (img (snd e)) = true) /\
    (forall t i, In t T -> corner t i -> vertex_in i ts || vertex_in i (raw T) ||
      place_missed n q E img whole a b (img i) = true)).
  { intros a b I. specialize (H1 _ I). cbv beta iota zeta in H1. rewrite !andb_true_iff in H1.
    destruct H1 as (((A & B) & C) & G). rewrite forallb_forall in B, C, G. split; [|split; [exact B|split; [exact C|]]].
    - apply dot_cases in A. intro X. unfold MeshCheck.place in X. rewrite X, dot_aa in A. lra.
    - intros t i Ht Hi. specialize (G t Ht). rewrite forallb_forall in G. apply G. now apply in_corners. }
  constructor.
  - intros t x Ht O (a & b & I & Hm). destruct (Sn a b I) as (N & A & _).
    exact (tri_missed_ok a b t x Ht N (A t Ht) O Hm).
  - intros t i j m Ht Hi Hj Nij Hm (a & b & I & Hb) In_. destruct (Sn a b I) as (N & _ & A & _).
    assert (X : forall i j m, In (i, j) (tpairs t) -> 0 < m < 1 -> met a b (mid (W i) (W j) m) ->
      inside d (mid (V i) (V j) m) -> on_target d (mid (V i) (V j) m)).
    { clear i j m Hi Hj Nij Hm Hb In_. intros i j m He Hm Hb In_.
      assert (Hin : In (i, j) (edges_of T)) by (apply in_flat_map; eauto). specialize (A _ Hin). cbn [fst snd] in A.
      rewrite !orb_true_iff in A.
      destruct (tpairs_corner t i j He) as [Ci Cj]. assert (Nij : i <> j).
      { destruct (m_ne _ _ _ M t Ht) as (B1 & B2 & B3). simpl in He.
        destruct He as [He|[He|[He|[]]]]; injection He as <- <-; auto. }
      destruct A as [[A|A]|A].
      - apply target_edge; auto; lra. - exfalso. exact (raw_edge i j m A Hm In_).
      - exfalso. apply (edge_missed_ok a b i j m); auto. apply (W_ne alpha den pts img T D M Fo t); auto. }
    destruct (tpairs_in t i j Hi Hj Nij) as [He|He]; [now apply X|]. rewrite mid_sym in Hb, In_ |- *.
    apply X; auto; lra.
  - intros t i Ht Hi (a & b & I & Hb) In_. destruct (Sn a b I) as (_ & _ & _ & A). specialize (A t i Ht Hi).
    rewrite !orb_true_iff in A. destruct A as [[A|A]|A].
    + now apply target_vertex. + exfalso. exact (raw_vertex i A In_). + exfalso. exact (place_missed_ok a b i A Hb).
  - intros p (a' & b' & Ig & Hp). apply in_map_iff in Ig. destruct Ig as ([a b] & Q & Ig). cbn [fst snd] in Q.
    injection Q as <- <-.
    destruct (chains_all n q E pts _ _ a b Hch Ig) as (vs & Iv & C).
    destruct (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a b vs C) as (_ & _ & C3).
    destruct (C3 p Hp) as (i & j & J & m & Hm & Ep).
    fold (mid (V i) (V j) m) in Ep. assert (It : In (i, j) ts) by (apply in_flat_map; eauto). specialize (H2 _ It).
    cbn [fst snd] in H2. apply andb_true_iff in H2. destruct H2 as [G1 G2].
    apply existsb_exists in G1. destruct G1 as (t & Ht & G1). apply andb_true_iff in G1. rewrite !has_iff in G1.
    destruct G1 as [Ci Cj]. exists t. split; [auto|]. split.
    + rewrite Ep. destruct (corners_closed alpha den pts t (Ccw t Ht)) as (C0 & _).
      destruct (C0 i Ci) as (A1 & A2 & A3), (C0 j Cj) as (B1 & B2 & B3). unfold closed, geo. rewrite !left_mid.
      repeat split; nra.
    + intro In_. apply orb_true_iff in G2. destruct G2 as [G|G].
      * exfalso. assert (Vi : vertex_in i (raw T) = true /\ vertex_in j (raw T) = true).
        { unfold vertex_in.
          split; apply existsb_exists; apply edge_in_ok in G; destruct G as [G|G]; eexists; (split; [exact G|]);
            cbn [fst snd]; rewrite Nat.eqb_refl; auto using orb_true_r. }
        destruct Vi as [Vi Vj]. destruct Hm as [[Hm|Hm] [Hm'|Hm']].
        -- apply (raw_edge i j m G); auto. now rewrite <- Ep.
        -- apply (raw_vertex j Vj). rewrite Ep, Hm', mid_1 in In_. exact In_.
        -- apply (raw_vertex i Vi). rewrite Ep, <- Hm, mid_0 in In_. exact In_. -- lra.
      * apply existsb_exists in G. destruct G as ([x y] & Is & G). cbn [fst snd] in G. apply andb_true_iff in G.
        destruct G as [G3 G4]. destruct (Sn x y Is) as (N & _).
        exists x, y. split; auto. rewrite Ep, Ft_mid, !(Ft_corner V W T) by (auto; exact Ccw).
        apply met_mid; auto; apply place_met_ok; auto.
Qed.
End Sound.
