(* From a layer order at points to one of triangles: the finite conditions are necessary, too. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Edge Cut Top Unique Closure Inside Drawn FoldCheck NoCut
  Generic.
Require Import Images.
Require Chain.
Import ListNotations.
Open Scope R_scope.
Section Necessary.
Variables (V W : nat -> pt) (T : list tr) (d : doc) (above : pt -> pt -> Prop) (N : list line) (Z : list pt).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation Ccw := (m_ccw V T d M). Notation Cg := (f_congr V W T d Fo). Notation F := (F V W T). Notation Ft := (Ft V W).
Hypothesis LO : layer_order_with d F above N Z.
Notation same_edge := (Images.same_edge V T d M). Notation swap_inner := (Images.swap_inner T).
Notation flat_off := (Images.flat_off V W T d M Fo). Notation turned_fold := (Images.turned_fold V W T d Fo).
Notation ontop_iff := (Images.ontop_iff V W T d above M Fo). Notation F_open := (Images.F_open V W T d M).
Notation meets := (Images.meets V W T d M). Notation gt_iff := (Images.gt_iff V W T d above N Z M Fo LO).
Notation total := (Images.total V W T d above N Z M Fo LO).
Notation gt_dec := (Images.gt_dec V W T d above N Z M Fo LO).
Notation transitive := (Images.transitive V W T d above N Z M Fo LO).
Notation good_beside := (Images.good_beside V W T d above N Z LO).
Notation half_image := (Images.half_image V W T d M Fo). Notation avoid_near := (Images.avoid_near Z).
Notation Ft_edge := (Images.Ft_edge V W T d M). Notation F_edge := (Images.F_edge V W T d M).
Notation near_back := (Images.near_back V W T d M Fo). Notation off_at := (Images.off_at V W T d N Z M).
Notation crossing := (Images.crossing V W T d above N Z M Fo LO). Notation image := (Images.image V W).
Notation gt := (Images.gt V W above N Z).
(* ---- two edges whose images share a stretch ---- *)
Lemma touching : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> touch V W t s i j k l ->
  exists m n h h' g g' e, 0 < m < 1 /\ 0 < n < 1 /\ mid (W i) (W j) m = mid (W k) (W l) n /\
  ~ In (mid (W k) (W l) n) Z /\
  (h = 1 \/ h = -1) /\ (h' = 1 \/ h' = -1) /\ (g = 1 \/ g = -1) /\ (g' = 1 \/ g' = -1) /\
    ((tu t = tu t' -> h' = - h) /\ (tu t <> tu t' -> h' = h)) /\ ((tu s = tu s' -> g' = - g) /\
    (tu s <> tu s' -> g' = g)) /\
  ((forall q, image t q -> 0 < h * left (W k) (W l) q) /\ (forall q, image t' q -> 0 < h' * left (W k) (W l) q) /\
    (forall q, image s q -> 0 < g * left (W k) (W l) q) /\ (forall q, image s' q -> 0 < g' * left (W k) (W l) q)) /\
    0 < e /\
  forall q, ball (mid (W k) (W l) n) e q -> (0 < h * left (W k) (W l) q -> image t q) /\
    (0 < h' * left (W k) (W l) q -> image t' q) /\ (0 < g * left (W k) (W l) q -> image s q) /\
    (0 < g' * left (W k) (W l) q -> image s' q).
Proof.
  intros t t' s s' i j k l I J (m0 & n0 & Hm0 & Hn0 & E0 & Li & Lj).
  pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (Hs & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  pose proof (inner_ne V W T d M Fo t t' i j I) as NW. pose proof (inner_ne V W T d M Fo s s' k l J) as NW'.
  rewrite !Ft_edge in E0 by auto.
  destruct (on_line_mid _ _ _ NW' Li) as (a & Ea), (on_line_mid _ _ _ NW' Lj) as (b & Eb).
  assert (Al : forall m, mid (W i) (W j) m = mid (W k) (W l) ((1 - m) * a + m * b)) by (intro m; rewrite Ea, Eb;
    unfold mid; cbn [fst snd]; f_equal; ring).
  assert (N0 : n0 = (1 - m0) * a + m0 * b).
  { rewrite Al in E0. set (x := (1 - m0) * a + m0 * b) in *. unfold mid in E0. injection E0 as X Y.
    assert (X' : (x - n0) * (fst (W l) - fst (W k)) = 0) by lra.
    assert (Y' : (x - n0) * (snd (W l) - snd (W k)) = 0) by lra. apply Rmult_integral in X', Y'.
    destruct X', Y'; try lra. exfalso. apply NW'. destruct (W k), (W l); simpl in *. f_equal; lra. }
  set (c := Rabs (b - a) + 1). assert (Pc : 1 <= c) by (unfold c; pose proof (Rabs_pos (b - a)); lra).
  set (r := Rmin n0 (1 - n0) / c). assert (Pm : 0 < Rmin n0 (1 - n0)) by (apply Rmin_glb_lt; lra).
  assert (Pr : 0 < r) by (apply Rdiv_lt_0_compat; lra).
  destruct (avoid_near (W i) (W j) (Rmax 0 (m0 - r)) (Rmin 1 (m0 + r)) NW) as (m & Hm & NZ);
    [apply Rmax_lub_lt; apply Rmin_glb_lt; lra|].
  assert (M1 : 0 < m < 1) by (pose proof (Rmax_l 0 (m0 - r)); pose proof (Rmin_l 1 (m0 + r)); lra).
  assert (M2 : Rabs (m - m0) < r) by (pose proof (Rmax_r 0 (m0 - r)); pose proof (Rmin_r 1 (m0 + r)); apply Rabs_def1;
    lra).
  set (n := (1 - m) * a + m * b). assert (Dn : Rabs (n - n0) < Rmin n0 (1 - n0)).
  { replace (n - n0) with ((m - m0) * (b - a)) by (unfold n; rewrite N0; ring). rewrite Rabs_mult.
    pose proof (Rabs_pos (m - m0)). pose proof (Rabs_pos (b - a)). assert (Rabs (m - m0) * c < Rmin n0 (1 - n0)).
  { replace (Rmin n0 (1 - n0)) with (r * c) by (unfold r; field; lra). apply Rmult_lt_compat_r; lra. }
  unfold c in H1. nra. }
  pose proof (Rmin_l n0 (1 - n0)). pose proof (Rmin_r n0 (1 - n0)). apply Rabs_def2 in Dn.
  assert (N1 : 0 < n < 1) by lra.
  destruct (half_image t t' i j (W k) (W l) I NW' Li Lj) as (h & h' & Hh & Hh' & F1 & F2 & A & A' & Near).
  destruct (half_image s s' k l (W k) (W l) J NW' ltac:(unfold left; ring) ltac:(unfold left; ring)) as
    (g & g' & Hg & Hg' & F3 & F4 & B & B' & Near').
  destruct (Near m M1) as (e & He & X), (Near' n N1) as (e' & He' & X'). exists m, n, h, h', g, g', (Rmin e e').
  rewrite (Al m) in NZ, X. fold n in NZ, X.
  split; [exact M1|split; [exact N1|split; [exact (Al m)|split; [exact NZ|]]]]. do 6 (split; [auto|]).
  split; [auto|split; [now apply Rmin_glb_lt|]].
  intros q Bq. unfold ball in *. destruct (X q) as (X1 & X2); [eapply Rlt_le_trans; [exact Bq|apply Rmin_l]|].
  destruct (X' q) as (X3 & X4); [eapply Rlt_le_trans; [exact Bq|apply Rmin_r]|]. auto.
Qed.
Lemma over_image : forall t s, over V W t s -> exists q, image t q /\ image s q.
Proof. intros t s (x & y & Ox & Oy & E). exists (Ft t x). split; [exists x|exists y]; auto. Qed.
Lemma same_tri : forall t t' s' i j k l m n, inner T t t' i j -> inner T t s' k l -> 0 < m < 1 -> 0 < n < 1 ->
  mid (W i) (W j) m = mid (W k) (W l) n -> s' = t'.
Proof.
  intros t t' s' i j k l m n I J Hm Hn E. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (_ & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  rewrite <- !(Ft_edge t) in E by auto. apply (Ft_inj V W T Ccw Cg t _ _ Ht) in E.
  assert (C : corner s' i /\ corner s' j) by (destruct (same_edge t i j m t k l n Ht Hi Hj Nij Hm Ht Hk Hl Nkl
    ltac:(lra) E) as [[-> ->]|[-> ->]]; auto).
  destruct C as [Ci Cj].
  destruct (m_two V T d M t t' s' i j I Hs' Ci Cj) as [-> |]; [contradiction|auto].
Qed.
Lemma apart_places : forall t t' s s' i j k l m n, inner T t t' i j -> inner T s s' k l -> 0 < m < 1 -> 0 < n < 1 ->
  t <> s -> t' <> s -> mid (V i) (V j) m <> mid (V k) (V l) n.
Proof.
  intros t t' s s' i j k l m n I J Hm Hn D D' E. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (Hs & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  assert (C : corner s i /\ corner s j) by (destruct (same_edge t i j m s k l n Ht Hi Hj Nij Hm Hs Hk Hl Nkl ltac:(lra)
    E) as [[-> ->]|[-> ->]]; auto).
  destruct C as [Ci Cj].
  destruct (m_two V T d M t t' s i j I Hs Ci Cj); congruence.
Qed.
Lemma edge_meet : forall t t' s s' i j k l m n, inner T t t' i j -> inner T s s' k l -> 0 < m < 1 -> 0 < n < 1 ->
  t <> s -> t' <> s -> mid (W i) (W j) m = mid (W k) (W l) n -> meet d F (mid (V i) (V j) m) (mid (V k) (V l) n).
Proof.
  intros t t' s s' i j k l m n I J Hm Hn D D' E. repeat split.
  - exact (Cut.inside_sheet d _ (edge_inside V T d M t t' i j m I Hm)).
  - exact (Cut.inside_sheet d _ (edge_inside V T d M s s' k l n J Hn)).
  - exact (apart_places t t' s s' i j k l m n I J Hm Hn D D').
  - now rewrite (F_edge t t' i j m I Hm), (F_edge s s' k l n J Hn).
Qed.
Lemma flat_flat : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> tu t = tu t' -> tu s = tu s' ->
  touch V W t s i j k l -> over V W t s -> over V W t' s' -> (gt t s <-> gt t' s').
Proof.
  intros t t' s s' i j k l I J Et Es To Ov Ov'. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (Hs & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  destruct (touching t t' s s' i j k l I J To) as (m & n & h & h' & g & g' & e & Hm & Hn & E & NZ & Hh & Hh' & Hg & Hg'
    & (F1 & _) & (F3 & _) & (A & A' & B & B') & He & Half).
  specialize (F1 Et). specialize (F3 Es).
  destruct (over_image t s Ov) as (q0 & Q1 & Q2).
  assert (Hgh : g = h) by (apply (same_sign h g (left (W k) (W l) q0)); auto). subst g.
  destruct (tr_dec t s) as [<-|D]; [rewrite (same_tri t t' s' i j k l m n I J Hm Hn E); split; intros (Q & _); exfalso;
    now apply Q|].
  destruct (tr_dec t' s) as [->|D']; [exfalso; specialize (A' q0 Q2); specialize (A q0 Q1); rewrite F1 in A'; lra|].
  assert (D'' : t' <> s') by (intros ->; apply D; symmetry; apply (same_tri s' t s i j k l m n (swap_inner _ _ _ _ I)
    (swap_inner _ _ _ _ J) Hm Hn E)).
  set (u := mid (V i) (V j) m). set (v := mid (V k) (V l) n). set (p := mid (W k) (W l) n) in *.
  assert (FU : F u = p) by (unfold u; rewrite (F_edge t t' i j m I Hm); exact E).
  pose proof (inner_ne V W T d M Fo s s' k l J) as NW'.
  assert (Eu : Ft t u = p /\ Ft t' u = p) by (unfold u; rewrite !Ft_edge by auto; auto).
  assert (Ev : Ft s v = p /\ Ft s' v = p) by (unfold v; rewrite !Ft_edge by auto; auto).
  destruct Eu as (Eu & Eu'), Ev as (Ev & Ev').
  destruct (lo_C d F above N Z LO u v (edge_meet t t' s s' i j k l m n I J Hm Hn D D' E)) as (x0 & Hx0 & C);
    [split; [exact (edge_inside V T d M t t' i j m I Hm)|exact (flat_off t t' i j m I Et Hm)]|split;
    [exact (edge_inside V T d M s s' k l n J Hn)|exact (flat_off s s' k l n J Es Hn)]|now rewrite FU|].
  set (e3 := Rmin (x0 / 2) e). assert (He3 : 0 < e3) by (apply Rmin_glb_lt; lra).
  assert (L1 : e3 <= x0 / 2) by apply Rmin_l. assert (L2 : e3 <= e) by apply Rmin_r.
  assert (Lp : left (W k) (W l) p = 0) by apply left_ends.
  destruct (good_beside (W k) (W l) p e3 h NW' Lp Hh He3) as (q & Bq & Sq & Gq),
    (good_beside (W k) (W l) p e3 h' NW' Lp Hh' He3) as (r & Br & Sr & Gr).
  unfold ball in Bq, Br.
  destruct (Half q ltac:(unfold ball; lra)) as (X1 & _ & X3 & _).
  destruct (Half r ltac:(unfold ball; lra)) as (_ & Y2 & _ & Y4). assert (G' : g' = h') by lra. rewrite G' in Y4.
  specialize (X1 Sq). specialize (X3 Sq). specialize (Y2 Sr). specialize (Y4 Sr).
  rewrite (gt_iff t s q), (gt_iff t' s' r) by auto.
  destruct X1 as (x & Ox & Ex), X3 as (y & Oy & Ey), Y2 as (x' & Ox' & Ex'), Y4 as (y' & Oy' & Ey').
  rewrite (ontop_iff t s x y q), (ontop_iff t' s' x' y' r) by auto.
  apply C; [apply (near_back t u p x q)|apply (near_back s v p y q)|apply (meets t s)|apply (off_at t q x)|apply
    (near_back t' u p x' r)|apply (near_back s' v p y' r)|apply (meets t' s')|apply (off_at t' r x')]; auto;
    try congruence; unfold ball; lra.
Qed.
Lemma fold_flat : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> tu s = tu s' ->
  touch V W t s i j k l -> over V W t s -> over V W t' s -> (gt t s <-> gt t' s).
Proof.
  intros t t' s s' i j k l I J Es To Ov Ov'. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (Hs & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  destruct (touching t t' s s' i j k l I J To) as (m & n & h & h' & g & g' & e & Hm & Hn & E & NZ & Hh & Hh' & Hg & Hg'
    & (F1 & F2) & (F3 & _) & (A & A' & B & B') & He & Half).
  destruct (over_image t s Ov) as (q0 & Q1 & Q2), (over_image t' s Ov') as (q1 & Q3 & Q4).
  assert (Hgh : g = h) by (apply (same_sign h g (left (W k) (W l) q0)); auto).
  assert (Hgh' : g = h') by (apply (same_sign h' g (left (W k) (W l) q1)); auto). subst g. rewrite <- Hgh' in *.
  clear Hgh' Hh'.
  assert (Et : tu t <> tu t') by (intro X; specialize (F1 X); destruct Hh as [-> | ->]; lra).
  assert (D : t <> s) by (intros <-; apply Et; rewrite Es; f_equal; exact (same_tri t t' s' i j k l m n I J Hm Hn E)).
  assert (D' : t' <> s) by (intros <-; apply Et; symmetry; rewrite Es; f_equal;
    exact (same_tri t' t s' i j k l m n (swap_inner _ _ _ _ I) J Hm Hn E)).
  set (u := mid (V i) (V j) m). set (v := mid (V k) (V l) n). set (p := mid (W k) (W l) n) in *.
  assert (FU : F u = p) by (unfold u; rewrite (F_edge t t' i j m I Hm); exact E).
  pose proof (inner_ne V W T d M Fo s s' k l J) as NW'.
  assert (Eu : Ft t u = p /\ Ft t' u = p) by (unfold u; rewrite !Ft_edge by auto; auto).
  assert (Ev : Ft s v = p) by (unfold v; rewrite !Ft_edge by auto; auto). destruct Eu as (Eu & Eu').
  assert (Go : on_fold d u -> (gt t s <-> gt t' s)).
  { intros (a & b & c & Ic & Fk & Sk).
    destruct (lo_J d F above N Z LO c u v (edge_meet t t' s s' i j k l m n I J Hm Hn D D' E)) as (x0 & Hx0 & C);
      [split; [exact (edge_inside V T d M t t' i j m I Hm)|exists a, b; auto]|split;
      [exact (edge_inside V T d M s s' k l n J Hn)|exact (flat_off s s' k l n J Es Hn)]|now rewrite FU|].
    set (e3 := Rmin (x0 / 2) e). assert (He3 : 0 < e3) by (apply Rmin_glb_lt; lra).
    assert (L1 : e3 <= x0 / 2) by apply Rmin_l. assert (L2 : e3 <= e) by apply Rmin_r.
    assert (Lp : left (W k) (W l) p = 0) by apply left_ends.
    destruct (good_beside (W k) (W l) p e3 h NW' Lp Hh He3) as (q & Bq & Sq & Gq). unfold ball in Bq.
    destruct (Half q ltac:(unfold ball; lra)) as (X1 & X2 & X3 & _). specialize (X1 Sq). specialize (X2 Sq).
    specialize (X3 Sq).
    rewrite (gt_iff t s q), (gt_iff t' s q) by auto.
    destruct X1 as (x & Ox & Ex), X2 as (y & Oy & Ey), X3 as (z & Oz & Ez).
    rewrite (ontop_iff t s x z q), (ontop_iff t' s y z q) by auto.
    apply C; [apply (near_back t u p x q)|apply (near_back t' u p y q)|apply (near_back s v p z q)|apply
      (meets t t')|apply (meets t s)|apply (meets t' s)|apply (off_at t q x)]; auto; try congruence; unfold ball; lra. }
  apply stable; [apply iff_dec; apply gt_dec; auto|]. intro K.
  exact (turned_fold t t' i j m I Et Hm (fun H => K (Go H))).
Qed.
Lemma fold_fold : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> t <> s -> t <> s' -> t' <> s ->
  t' <> s' -> touch V W t s i j k l -> over V W t s -> over V W t s' -> over V W t' s -> over V W t' s' ->
  ((gt t s <-> gt t' s) <-> (gt t s' <-> gt t' s')).
Proof.
  intros t t' s s' i j k l I J D1 D2 D3 D4 To O1 O2 O3 O4. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof J as (Hs & Hs' & Ds & Nkl & Hk & Hl & Hk' & Hl').
  destruct (touching t t' s s' i j k l I J To) as (m & n & h & h' & g & g' & e & Hm & Hn & E & NZ & Hh & Hh' & Hg & Hg'
    & (F1 & F2) & (F3 & F4) & (A & A' & B & B') & He & Half).
  destruct (over_image t s O1) as (q0 & Q1 & Q2), (over_image t s' O2) as (q1 & Q3 & Q4),
    (over_image t' s O3) as (q2 & Q5 & Q6).
  assert (X1 : g = h) by (apply (same_sign h g (left (W k) (W l) q0)); auto).
  assert (X2 : g' = h) by (apply (same_sign h g' (left (W k) (W l) q1)); auto).
  assert (X3 : g = h') by (apply (same_sign h' g (left (W k) (W l) q2)); auto). subst g. subst g'. rewrite <- X3 in *.
  clear X3 Hh'.
  assert (Et : tu t <> tu t') by (intro X; specialize (F1 X); destruct Hh as [-> | ->]; lra).
  assert (Es : tu s <> tu s') by (intro X; specialize (F3 X); destruct Hh as [-> | ->]; lra).
  set (u := mid (V i) (V j) m). set (v := mid (V k) (V l) n). set (p := mid (W k) (W l) n) in *.
  assert (FU : F u = p) by (unfold u; rewrite (F_edge t t' i j m I Hm); exact E).
  pose proof (inner_ne V W T d M Fo s s' k l J) as NW'.
  assert (Eu : Ft t u = p /\ Ft t' u = p) by (unfold u; rewrite !Ft_edge by auto; auto).
  assert (Ev : Ft s v = p /\ Ft s' v = p) by (unfold v; rewrite !Ft_edge by auto; auto).
  destruct Eu as (Eu & Eu'), Ev as (Ev & Ev').
  assert (Go : on_fold d u -> on_fold d v -> ((gt t s <-> gt t' s) <-> (gt t s' <-> gt t' s'))).
  { intros (a & b & c & Ic & Fk & Sk) (a' & b' & c' & Ic' & Fk' & Sk').
    destruct (lo_JJ d F above N Z LO c c' u v (edge_meet t t' s s' i j k l m n I J Hm Hn D1 D3 E)) as (x0 & Hx0 & C);
      [split; [exact (edge_inside V T d M t t' i j m I Hm)|exists a, b; auto]|split;
      [exact (edge_inside V T d M s s' k l n J Hn)|exists a', b'; auto]|now rewrite FU|].
    set (e3 := Rmin (x0 / 2) e). assert (He3 : 0 < e3) by (apply Rmin_glb_lt; lra).
    assert (L1 : e3 <= x0 / 2) by apply Rmin_l. assert (L2 : e3 <= e) by apply Rmin_r.
    assert (Lp : left (W k) (W l) p = 0) by apply left_ends.
    destruct (good_beside (W k) (W l) p e3 h NW' Lp Hh He3) as (q & Bq & Sq & Gq). unfold ball in Bq.
    destruct (Half q ltac:(unfold ball; lra)) as (X1 & X2 & X3 & X4). specialize (X1 Sq). specialize (X2 Sq).
    specialize (X3 Sq). specialize (X4 Sq).
    rewrite (gt_iff t s q), (gt_iff t' s q), (gt_iff t s' q), (gt_iff t' s' q) by auto.
    destruct X1 as (x & Ox & Ex), X2 as (y & Oy & Ey), X3 as (z & Oz & Ez), X4 as (w & Ow & Ew).
    rewrite (ontop_iff t s x z q), (ontop_iff t' s y z q), (ontop_iff t s' x w q), (ontop_iff t' s' y w q) by auto.
    apply C; [apply (near_back t u p x q)|apply (near_back t' u p y q)|apply (near_back s v p z q)|apply
      (near_back s' v p w q)|apply (meets t t')|apply (meets s s')|apply (meets t s)|apply (meets t s')|apply
      (meets t' s)|apply (meets t' s')|apply (off_at t q x)]; auto; try congruence; unfold ball; lra. }
  apply stable; [apply iff_dec; apply iff_dec; apply gt_dec; auto|]. intro K.
  exact (turned_fold t t' i j m I Et Hm (fun H => turned_fold s s' k l n J Es Hn (fun H' => K (Go H H')))).
Qed.
Lemma shows_open : forall t x, In t T -> open (geo V t) x -> shows F (sg t) x.
Proof.
  intros t x Ht O. destruct (Layers.open_nbhd V t x O) as (e & He & H). exists e. split; [exact He|].
  destruct (Ft_rigid V W T Ccw Cg t Ht) as (c & s & tx & ty & E & Eq). exists c, s, tx, ty. split; [exact E|].
  intros q Bq. rewrite (F_open t q Ht (H q Bq)). apply Eq.
Qed.
Lemma marked_fold : forall t t' i j l k, inner T t t' i j -> 0 < l < 1 -> crease d k (mid (V i) (V j) l) ->
  tu t = false -> tu t' = true -> (k = Mountain -> gt t t') /\ (k = Valley -> gt t' t).
Proof.
  intros t t' i j l0 k I Hl (_ & a & b & Ic & Fk & Sk) Et Et'.
  pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj'). pose proof (inner_ne V W T d M Fo t t' i j I) as NW.
  pose proof (V_ne V T Ccw t i j Ht Hi Hj Nij) as NV.
  (* the crease runs along the edge, to one side of the place at least *)
  destruct (f_crease V W T d Fo a b k _ Ic Fk Sk) as (t0 & x & y & m0 & Ht0 & Hx & Hy & Nxy & Hm0 & E0 & La & Lb & Nd &
    _).
  assert (Lab : left (V i) (V j) a = 0 /\ left (V i) (V j) b = 0).
  { destruct (same_edge t i j l0 t0 x y m0 Ht Hi Hj Nij Hl Ht0 Hx Hy Nxy Hm0 E0) as [[-> ->]|[-> ->]];
      [auto|rewrite !(left_swap (V x) (V y)); lra]. }
  destruct Lab as (La' & Lb').
  destruct (on_line_mid _ _ _ NV La') as (ta & Ea), (on_line_mid _ _ _ NV Lb') as (tb & Eb).
  assert (Nab : ta <> tb) by (intro Q; apply Nd; rewrite Ea, Eb, Q; ring).
  assert (Mid : forall r, mid a b r = mid (V i) (V j) ((1 - r) * ta + r * tb)) by (intro r; rewrite Ea, Eb; unfold mid;
    cbn [fst snd]; f_equal; ring).
  assert (Inj : forall r z, mid (V i) (V j) r = mid (V i) (V j) z -> r = z).
  { intros r z Q. unfold mid in Q. injection Q as Qx Qy. assert (X' : (r - z) * (fst (V j) - fst (V i)) = 0) by lra.
    assert (Y' : (r - z) * (snd (V j) - snd (V i)) = 0) by lra. apply Rmult_integral in X', Y'.
    destruct X', Y'; try lra. exfalso. apply NV. destruct (V i), (V j); simpl in *. f_equal; lra. }
  destruct Sk as (r0 & Hr0 & Q0). fold (mid a b r0) in Q0. rewrite Mid in Q0. apply Inj in Q0.
  set (lo := Rmax 0 (Rmin ta tb)). set (hi := Rmin 1 (Rmax ta tb)).
  assert (Lt : lo < hi).
  { pose proof (Rmin_l ta tb). pose proof (Rmin_r ta tb). pose proof (Rmax_l ta tb). pose proof (Rmax_r ta tb).
    assert (Rmin ta tb < Rmax ta tb) by (destruct (Rtotal_order ta tb) as [X|[X|X]]; lra).
    assert (Rmin ta tb <= l0 <= Rmax ta tb) by (rewrite Q0; split; nra).
    unfold lo, hi. apply Rmax_lub_lt; apply Rmin_glb_lt; lra. }
  destruct (avoid_near (W i) (W j) lo hi NW Lt) as (m & Hm & NZ).
  assert (M1 : 0 < m < 1) by (pose proof (Rmax_l 0 (Rmin ta tb)); pose proof (Rmin_l 1 (Rmax ta tb));
    unfold lo, hi in *; lra).
  assert (M2 : Rmin ta tb < m < Rmax ta tb) by (pose proof (Rmax_r 0 (Rmin ta tb)); pose proof (Rmin_r 1 (Rmax ta tb));
    unfold lo, hi in *; lra).
  set (u := mid (V i) (V j) m). set (p := mid (W i) (W j) m) in *.
  assert (FU : F u = p) by exact (F_edge t t' i j m I M1).
  assert (Cr : crease d k u).
  { split; [exact (edge_inside V T d M t t' i j m I M1)|exists a, b; split; [exact Ic|split; [exact Fk|]]].
    exists ((m - ta) / (tb - ta)). set (r := (m - ta) / (tb - ta)).
    assert (Er : (1 - r) * ta + r * tb = m) by (unfold r; field; lra).
    split; [|fold (mid a b r); rewrite Mid, Er; reflexivity].
    unfold r. destruct (Rtotal_order ta tb) as [X|[X|X]]; [|contradiction|].
    - rewrite Rmin_left, Rmax_right in M2 by lra. split; [apply Rmult_le_pos; [lra|left; apply Rinv_0_lt_compat; lra]|].
      apply Rmult_le_reg_r with (tb - ta); [lra|]. unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
    - rewrite Rmin_right, Rmax_left in M2 by lra.
      replace ((m - ta) / (tb - ta)) with ((ta - m) / (ta - tb)) by (field; lra).
      split; [apply Rmult_le_pos; [lra|left; apply Rinv_0_lt_compat; lra]|].
      apply Rmult_le_reg_r with (ta - tb); [lra|]. unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra. }
  destruct (lo_M d F above N Z LO k u Cr) as (x0 & Hx0 & C); [now rewrite FU|].
  destruct (half_image t t' i j (W i) (W j) I NW ltac:(unfold left; ring) ltac:(unfold left; ring)) as
    (h & h' & Hh & Hh' & _ & Fd & A & A' & Near).
  rewrite Fd in * by congruence. destruct (Near m M1) as (e & He & Half). fold p in Half.
  set (e3 := Rmin (x0 / 2) e). assert (He3 : 0 < e3) by (apply Rmin_glb_lt; lra).
  assert (L1 : e3 <= x0 / 2) by apply Rmin_l. assert (L2 : e3 <= e) by apply Rmin_r.
  assert (Lp : left (W i) (W j) p = 0) by apply left_ends.
  destruct (good_beside (W i) (W j) p e3 h NW Lp Hh He3) as (q & Bq & Sq & Gq). unfold ball in Bq.
  destruct (Half q ltac:(unfold ball; lra)) as (X1 & X2). specialize (X1 Sq). specialize (X2 Sq).
  rewrite (gt_iff t t' q), (gt_iff t' t q) by auto. destruct X1 as (x1 & Ox & Ex), X2 as (y1 & Oy & Ey).
  rewrite (ontop_iff t t' x1 y1 q), (ontop_iff t' t y1 x1 q) by auto.
  apply C; [apply (near_back t u p x1 q); auto; [unfold u; now rewrite Ft_edge|unfold ball; lra]|apply
    (near_back t' u p y1 q); auto; [unfold u; now rewrite Ft_edge|unfold ball; lra]|apply (meets t t');
    congruence|apply (off_at t q x1); auto| |].
  - pose proof (shows_open t x1 Ht Ox) as S. unfold sg in S. now rewrite Et in S.
  - pose proof (shows_open t' y1 Ht' Oy) as S. unfold sg in S. now rewrite Et' in S.
Qed.
Theorem layers_necessary : layers V W T d gt.
Proof.
  constructor; [exact total|exact transitive| |exact flat_flat|exact fold_flat|exact fold_fold|exact marked_fold].
  intros t t' s i j I Hs C. exact (crossing t t' s i j I Hs C).
Qed.
End Necessary.
