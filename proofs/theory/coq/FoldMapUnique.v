(* The fold map is the only one, but for the place and the side of the folded paper: so a cut that fails with one fails
   with all. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Cut Top Unique Closure.
Import ListNotations.
Open Scope R_scope.
Lemma rig_between : forall g c s tx ty g' c' s' tx' ty', (g = 1 \/ g = -1) -> (g' = 1 \/ g' = -1) ->
  c * c + s * s = 1 -> c' * c' + s' * s' = 1 ->
  exists sg a b x y, (sg = 1 \/ sg = -1) /\ a * a + b * b = 1 /\ forall p,
    rig g c s tx ty p = rig sg a b x y (rig g' c' s' tx' ty' p).
Proof.
  intros g c s tx ty g' c' s' tx' ty' Hg Hg' N N'. assert (G : g * g = 1) by (destruct Hg as [-> | ->]; ring).
  assert (G' : g' * g' = 1) by (destruct Hg' as [-> | ->]; ring).
  set (a := c * c' + g * g' * s * s'). set (b := s * c' - g * g' * c * s').
  exists (g * g'), a, b, (tx - a * tx' + g * g' * b * ty'), (ty - b * tx' - g * g' * a * ty').
  split; [destruct Hg as [-> | ->], Hg' as [-> | ->]; lra|]. split.
  - transitivity ((c * c + s * s) * (c' * c') + (g * g) * (g' * g') * (c * c + s * s) * (s' * s'));
      [unfold a, b; ring|].
    rewrite N, G, G'. lra.
  - intros [x y]. unfold rig; cbn [fst snd]. f_equal.
    + transitivity (tx + c * (c' * c' + s' * s') * x - g * s * (g' * g') * (c' * c' + s' * s') * y);
        [rewrite N', G'; ring|].
      transitivity (tx + (c * c' * c' + (g * g') * (g * g') * c * s' * s') * x -
        (g * (g' * g') * s * c' * c' + g * (g' * g') * s * s' * s') * y).
      * transitivity (tx + (c * c' * c' + (g * g) * (g' * g') * c * s' * s') * x -
          (g * (g' * g') * s * c' * c' + g * (g' * g') * s * s' * s') * y); [rewrite G; rewrite G'; ring|ring].
      * unfold a, b. ring_simplify. replace (g ^ 2) with 1 by (rewrite <- G; ring).
        replace (g' ^ 2) with 1 by (rewrite <- G'; ring).
        replace (g' ^ 3) with g' by (transitivity (g' * g' * g'); [rewrite G'; ring|ring]). ring.
    + unfold a, b. ring_simplify. replace (g ^ 2) with 1 by (rewrite <- G; ring).
      replace (g' ^ 2) with 1 by (rewrite <- G'; ring).
      replace (g' ^ 3) with g' by (transitivity (g' * g' * g'); [rewrite G'; ring|ring]).
      transitivity (ty + s * (c' * c' + s' * s') * x + g * c * (c' * c' + s' * s') * y); [rewrite N'; ring|ring].
Qed.
Lemma rig_lip : forall g c s tx ty p r, (g = 1 \/ g = -1) -> c * c + s * s = 1 ->
  dist (rig g c s tx ty p) (rig g c s tx ty r) <= 2 * dist p r.
Proof.
  intros g c s tx ty p r Hg E. unfold rig, dist; cbn [fst snd].
  set (M := Rmax (Rabs (fst p - fst r)) (Rabs (snd p - snd r))).
  assert (Rabs (fst p - fst r) <= M) by apply Rmax_l. assert (Rabs (snd p - snd r) <= M) by apply Rmax_r.
  assert (Bd : forall k, k * k <= 1 -> Rabs k <= 1) by (intros k Hk; apply Rabs_le; nra).
  assert (Hc : Rabs c <= 1) by (apply Bd; nra). assert (Hs : Rabs s <= 1) by (apply Bd; nra).
  assert (Ag : Rabs g = 1) by (destruct Hg as [-> | ->]; unfold Rabs; destruct Rcase_abs; lra).
  pose proof (Rabs_pos (fst p - fst r)). pose proof (Rabs_pos (snd p - snd r)). pose proof (Rabs_pos c).
  pose proof (Rabs_pos s).
  apply Rmax_lub.
  - replace (tx + c * fst p - g * s * snd p - (tx + c * fst r - g * s * snd r)) with
      (c * (fst p - fst r) + - (g * s * (snd p - snd r))) by ring.
    eapply Rle_trans; [apply Rabs_triang|]. rewrite Rabs_Ropp, !Rabs_mult, Ag. nra.
  - replace (ty + s * fst p + g * c * snd p - (ty + s * fst r + g * c * snd r)) with
      (s * (fst p - fst r) + g * c * (snd p - snd r)) by ring.
    eapply Rle_trans; [apply Rabs_triang|]. rewrite !Rabs_mult, Ag. nra.
Qed.
Lemma dist_zero : forall p r, (forall e, 0 < e -> dist p r < e) -> p = r.
Proof.
  intros p r H. assert (Z : dist p r = 0).
  { apply Rle_antisym; [|apply dist_pos]. apply Rnot_lt_le. intro L. specialize (H _ L). lra. }
  unfold dist in Z. pose proof (Rmax_l (Rabs (fst p - fst r)) (Rabs (snd p - snd r))).
  pose proof (Rmax_r (Rabs (fst p - fst r)) (Rabs (snd p - snd r))). rewrite Z in *.
  pose proof (Rabs_pos (fst p - fst r)). pose proof (Rabs_pos (snd p - snd r)).
  assert (X : fst p - fst r = 0). { destruct (Req_dec (fst p - fst r) 0) as [Q|Q]; auto. apply Rabs_no_R0 in Q. lra. }
  assert (Y : snd p - snd r = 0). { destruct (Req_dec (snd p - snd r) 0) as [Q|Q]; auto. apply Rabs_no_R0 in Q. lra. }
  destruct p, r; simpl in *. f_equal; lra.
Qed.
Definition unique_fold (d : doc) (F : pt -> pt) := forall G, fold_map d G ->
  exists g c s tx ty, (g = 1 \/ g = -1) /\ c * c + s * s = 1 /\ forall p, sheet d p -> G p = rig g c s tx ty (F p).
(* all triangles can be reached by walks from one *)
Theorem fold_map_unique : forall V T d F t0, mesh V T d -> (forall t p, In t T -> open (geo V t) p -> ~ on_fold d p) ->
  In t0 T -> (forall u, In u T -> exists l, walk V T d t0 u l) ->
  fold_map d F -> unique_fold d F.
Proof.
  intros V T d F t0 M Off H0 Reach FF G FG. pose proof (m_ccw V T d M) as Ccw.
  destruct (moves_ex V T d G M FG Off t0 H0) as (g & c & s & tx & ty & Mg).
  destruct (moves_ex V T d F M FF Off t0 H0) as (g' & c' & s' & tx' & ty' & Mf).
  pose proof Mg as (Hg & N & _). pose proof Mf as (Hg' & N' & _).
  destruct (rig_between g c s tx ty g' c' s' tx' ty' Hg Hg' N N') as (sg & a & b & x & y & Hsg & Nab & A).
  exists sg, a, b, x, y. split; [auto|split; [auto|]].
  assert (Opn : forall u p, In u T -> open (geo V u) p -> G p = rig sg a b x y (F p)).
  { intros u p Hu O. destruct (Reach u Hu) as (l & W).
    destruct (moves_ex V T d G M FG Off u Hu) as (g1 & c1 & s1 & tx1 & ty1 & M1).
    destruct (moves_ex V T d F M FF Off u Hu) as (g2 & c2 & s2 & tx2 & ty2 & M2).
    pose proof M1 as (_ & _ & E1). pose proof M2 as (_ & _ & E2). rewrite (E1 p O), (E2 p O).
    rewrite (walk_moves V T d G M FG Off t0 u l W _ _ _ _ _ _ _ _ _ _ Mg M1 p),
      (walk_moves V T d F M FF Off t0 u l W _ _ _ _ _ _ _ _ _ _ Mf M2 p).
    apply A. }
  intros p Hp. pose proof Hp as Hp'. apply (m_cover V T d M) in Hp'. destruct Hp' as (u & Hu & Cu). apply dist_zero.
  intros e He.
  destruct (fm_cont d G FG p Hp (e / 3) ltac:(lra)) as (d1 & D1 & C1).
  destruct (fm_cont d F FF p Hp (e / 3) ltac:(lra)) as (d2 & D2 & C2).
  destruct (open_dense (geo V u) p (Rmin d1 d2) (Ccw u Hu) Cu) as (q & Hq & Oq); [now apply Rmin_glb_lt|].
  unfold ball in Hq.
  assert (Sq : sheet d q).
  { apply (m_cover V T d M). exists u. split; auto. destruct Oq as (X1 & X2 & X3). unfold closed, geo. lra. }
  assert (B1 : dist (G p) (G q) < e / 3) by (apply C1; auto; unfold ball; eapply Rlt_le_trans; [exact Hq|apply Rmin_l]).
  assert (B2 : dist (F p) (F q) < e / 3) by (apply C2; auto; unfold ball; eapply Rlt_le_trans; [exact Hq|apply Rmin_r]).
  pose proof (rig_lip sg a b x y (F q) (F p) Hsg Nab) as L. rewrite <- (Opn u q Hu Oq) in L.
  assert (Sy : dist (F q) (F p) = dist (F p) (F q)) by (unfold dist; f_equal; apply Rabs_minus_sym).
  pose proof (dist_tri (G p) (G q) (rig sg a b x y (F p))). lra.
Qed.
(* a line of one folded plane is a line of the other *)
Lemma line_back : forall l g c s tx ty, (g = 1 \/ g = -1) -> c * c + s * s = 1 -> proper l ->
  exists l', proper l' /\ forall p, on_line l' p <-> on_line l (rig g c s tx ty p).
Proof.
  intros [[A B] C] g c s tx ty Hs N P. exists (A * c + B * s, g * (B * c - A * s), C - A * tx - B * ty). split.
  - unfold proper in *. intro Z. apply P. rewrite <- Z. assert (G : g * g = 1) by (destruct Hs as [-> | ->]; ring).
    transitivity ((c * c + s * s) * (A * A + B * B)); [rewrite N; ring|].
    transitivity ((A * c + B * s) * (A * c + B * s) + (g * g) * ((B * c - A * s) * (B * c - A * s)));
      [rewrite G; ring|ring].
  - intros [x y]. unfold on_line, rig; simpl. split; intro H; lra.
Qed.
