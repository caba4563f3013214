(* What ANY fold map does: one isometry on each triangle, and across a fold edge that followed by the reflection in the
   edge. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Edge Cut Top Unique. Require Chain.
Import ListNotations.
Open Scope R_scope.
Definition reflect (a b p : pt) : pt := let x := fst b - fst a in let y := snd b - snd a in let k :=
  2 * left a b p / (x * x + y * y) in (fst p + k * y, snd p - k * x).
(* a rigid map of the plane, by its numbers; sign g *)
Definition rig (g c s tx ty : R) (p : pt) : pt := (tx + c * fst p - g * s * snd p, ty + s * fst p + g * c * snd p).
Lemma rig_af : forall g c s tx ty p, af (tx, c, - (g * s), (ty, s, g * c)) p = rig g c s tx ty p.
Proof. intros. unfold af, rig. f_equal; ring. Qed.
Lemma rig_two : forall g c s tx ty c' s' tx' ty' p r, g * g = 1 -> p <> r ->
  rig g c s tx ty p = rig g c' s' tx' ty' p -> rig g c s tx ty r = rig g c' s' tx' ty' r ->
  forall x, rig g c s tx ty x = rig g c' s' tx' ty' x.
Proof.
  intros g c s tx ty c' s' tx' ty' p r G N E1 E2 x. unfold rig in *. injection E1 as X1 Y1. injection E2 as X2 Y2.
  set (dx := fst r - fst p). set (dy := snd r - snd p). set (C := c - c'). set (S := s - s').
  assert (A1 : C * dx - g * S * dy = 0) by (unfold C, S, dx, dy; lra).
  assert (A2 : S * dx + g * C * dy = 0) by (unfold C, S, dx, dy; lra).
  assert (M : dx * dx + dy * dy <> 0).
  { intro Z. apply N. destruct (Rplus_sqr_eq_0 dx dy Z) as [Zx Zy]. unfold dx, dy in Zx, Zy. destruct p, r; simpl in *.
    f_equal; lra. }
  assert (C0 : C = 0).
  { assert (Q : C * (dx * dx + dy * dy) = 0).
  { transitivity ((C * dx - g * S * dy) * dx + g * (S * dx + g * C * dy) * dy + (1 - g * g) * C * (dy * dy)); [ring|].
    rewrite A1, A2, G. ring. }
  apply Rmult_integral in Q. destruct Q; auto; contradiction. }
  assert (S0 : S = 0).
  { assert (Q : S * (dx * dx + dy * dy) = 0).
  { transitivity ((S * dx + g * C * dy) * dx - g * (C * dx - g * S * dy) * dy + (1 - g * g) * S * (dy * dy)); [ring|].
    rewrite A1, A2, G. ring. }
  apply Rmult_integral in Q. destruct Q; auto; contradiction. }
  assert (c' = c) by (unfold C in C0; lra). assert (s' = s) by (unfold S in S0; lra). subst c' s'. f_equal; lra.
Qed.
Lemma rig_reflect : forall g c s tx ty a b, g * g = 1 -> a <> b -> exists c' s' tx' ty', forall p,
  rig g c s tx ty (reflect a b p) = rig (- g) c' s' tx' ty' p.
Proof.
  intros g c s tx ty a b Gg N. set (x := fst b - fst a). set (y := snd b - snd a).
  assert (P : x * x + y * y <> 0).
  { intro Z. apply N. destruct (Rplus_sqr_eq_0 x y Z) as [Zx Zy]. unfold x, y in Zx, Zy. destruct a, b; simpl in *.
    f_equal; lra. }
  set (n := x * x + y * y) in *. set (c0 := (x * x - y * y) / n). set (s0 := 2 * x * y / n).
  (* reflect p = (c0 px + s0 py + ux, s0 px - c0 py + uy) *)
  set (k0 := 2 * (y * fst a - x * snd a) / n). set (ux := k0 * y). set (uy := - (k0 * x)).
  assert (R : forall p, reflect a b p = (c0 * fst p + s0 * snd p + ux, s0 * fst p - c0 * snd p + uy)).
  { intro p. unfold reflect, left. fold x y. fold n. unfold c0, s0, ux, uy, k0, n. f_equal; field; exact P. }
  exists (c * c0 - g * s * s0), (s * c0 + g * c * s0), (tx + c * ux - g * s * uy), (ty + s * ux + g * c * uy).
  intro p. rewrite R. unfold rig; cbn [fst snd]. f_equal.
  - transitivity (tx + c * ux - g * s * uy + (c * c0 - g * s * s0) * fst p + (g * s * c0 + (g * g) * c * s0) * snd p);
      [rewrite Gg|]; ring.
  - transitivity (ty + s * ux + g * c * uy + (s * c0 + g * c * s0) * fst p - (g * c * c0 - (g * g) * s * s0) * snd p);
      [rewrite Gg|]; ring.
Qed.
Lemma reflect_on : forall a b p, left a b p = 0 -> reflect a b p = p.
Proof. intros a b [x y] H. unfold reflect. rewrite H. simpl. f_equal; unfold Rdiv; ring. Qed.
Lemma Cmid_sym : forall x y l, mid x y l = mid y x (1 - l). Proof. intros; unfold mid. f_equal; ring. Qed.
Section Cross.
Variables (V : nat -> pt) (T : list tr) (d : doc) (G : pt -> pt).
Notation geo := (geo V).
Hypothesis M : mesh V T d. Hypothesis FG : fold_map d G.
Hypothesis Hoff : forall t p, In t T -> open (geo t) p -> ~ on_fold d p.
Notation Ccw := (m_ccw V T d M).
Lemma open_in : forall t p, In t T -> open (geo t) p -> inside d p.
Proof.
  intros t p Ht O. destruct (open_nbhd V t p O) as (e & He & H). exists e. split; auto. intros q Hq.
  apply (m_cover V T d M). exists t. split; auto.
  destruct (H q Hq) as (A & B & C). unfold closed; simpl. lra.
Qed.
(* the numbers of G on a triangle *)
Definition moves t g c s tx ty := (g = 1 \/ g = -1) /\ c * c + s * s = 1 /\ forall p, open (geo t) p ->
  G p = rig g c s tx ty p.
Lemma moves_ex : forall t, In t T -> exists g c s tx ty, moves t g c s tx ty.
Proof.
  intros t Ht.
  destruct (rigid_on_triangle d G (geo t) FG (Ccw t Ht)) as (m & g & c & s & tx & ty & Hg & N & -> & H);
    [intros p O; split; [eapply open_in; eauto|eapply Hoff; eauto]|].
  exists g, c, s, tx, ty. split; [auto|split; [auto|]]. intros p O. destruct (H p O) as (e & He & Q). rewrite <- rig_af.
  apply Q. unfold ball, dist. rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra.
Qed.
(* near an inner point of an edge, the side of the edge decides *)
Lemma near_edge : forall t i j n, In t T -> corner t i -> corner t j -> i <> j -> 0 < n < 1 ->
  exists g e, (g = 1 \/ g = -1) /\ 0 < e /\
  (forall q, open (geo t) q -> 0 < g * left (V i) (V j) q) /\
  (forall q, ball (mid (V i) (V j) n) e q -> 0 <= g * left (V i) (V j) q -> closed (geo t) q) /\
  (forall q, ball (mid (V i) (V j) n) e q -> 0 < g * left (V i) (V j) q -> open (geo t) q).
Proof.
  intros t i j n Ht Hi Hj D Hn. pose proof (Ccw t Ht) as HC. unfold ccw, Paste.geo in HC.
  assert (Pos : forall a b p, 0 < left a b p -> exists e, 0 < e /\ forall q, ball p e q -> 0 < left a b q).
  { intros a b p Hp. destruct (neg_nbhd b a p) as (e & He & Hq); [rewrite left_swap; lra|]. exists e. split; auto.
    intros q Hb. specialize (Hq q Hb). rewrite left_swap in Hq. lra. }
  assert (Core : forall a b c m, 0 < left a b c -> 0 < m < 1 -> exists e, 0 < e /\ forall q, ball (mid a b m) e q ->
    0 < left b c q /\ 0 < left c a q).
  { intros a b c m Hp Hm. destruct (Pos b c (mid a b m)) as (e1 & P1 & Q1).
    - rewrite left_mid. replace (left b c a) with (left a b c) by (unfold left; ring).
      replace (left b c b) with 0 by (unfold left; ring). nra.
    - destruct (Pos c a (mid a b m)) as (e2 & P2 & Q2).
      + rewrite left_mid. replace (left c a a) with 0 by (unfold left; ring).
        replace (left c a b) with (left a b c) by (unfold left; ring). nra.
      + exists (Rmin e1 e2). split; [now apply Rmin_glb_lt|]. intros q Hq. unfold ball in *.
        split; [apply Q1|apply Q2]; unfold ball; eapply Rlt_le_trans; eauto; [apply Rmin_l|apply Rmin_r]. }
  assert (R1 : forall a b c, left b c a = left a b c) by (intros; unfold left; ring).
  assert (Sw : forall a b y, left b a y = - left a b y) by (intros; unfold left; ring).
  assert (Hn' : 0 < 1 - n < 1) by lra.
  destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence.
  - destruct (Core _ _ _ n HC Hn) as (e & He & H). exists 1, e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb;
      specialize (H q Hb)]; lra.
  - destruct (Core (V (ck t)) (V (ci t)) (V (cj t)) (1 - n)) as (e & He & H);
      [replace (left (V (ck t)) (V (ci t)) (V (cj t))) with (left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left;
      ring); exact HC|auto|].
    rewrite <- Cmid_sym in H. exists (-1), e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; rewrite (Sw (V (ck t)) (V (ci t)) q);
      [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb; specialize (H q Hb)]; lra.
  - destruct (Core (V (ci t)) (V (cj t)) (V (ck t)) (1 - n) HC Hn') as (e & He & H). rewrite <- Cmid_sym in H.
    exists (-1), e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; rewrite (Sw (V (ci t)) (V (cj t)) q);
      [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb; specialize (H q Hb)]; lra.
  - destruct (Core (V (cj t)) (V (ck t)) (V (ci t)) n) as (e & He & H);
      [replace (left (V (cj t)) (V (ck t)) (V (ci t))) with (left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left;
      ring); exact HC|auto|].
    exists 1, e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb;
      specialize (H q Hb)]; lra.
  - destruct (Core (V (ck t)) (V (ci t)) (V (cj t)) n) as (e & He & H);
      [replace (left (V (ck t)) (V (ci t)) (V (cj t))) with (left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left;
      ring); exact HC|auto|].
    exists 1, e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb;
      specialize (H q Hb)]; lra.
  - destruct (Core (V (cj t)) (V (ck t)) (V (ci t)) (1 - n)) as (e & He & H);
      [replace (left (V (cj t)) (V (ck t)) (V (ci t))) with (left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left;
      ring); exact HC|auto|].
    rewrite <- Cmid_sym in H. exists (-1), e. unfold open, closed, Paste.geo.
    split; [auto|split; [auto|split; [|split]]]; intros q; rewrite (Sw (V (cj t)) (V (ck t)) q);
      [intros (A & B & C)|intros Hb; specialize (H q Hb)|intros Hb; specialize (H q Hb)]; lra.
Qed.

(* parameters of points of an edge that are off a finite list *)
Lemma avoid : forall (a b : pt) Z, a <> b -> exists lo hi, 0 <= lo /\ lo < hi /\ hi <= 1 /\ forall n, lo < n < hi ->
  ~ In (mid a b n) Z.
Proof.
  intros a b Z N. induction Z as [|z Z (lo & hi & L & H & U & IH)].
  - exists 0, 1. repeat split; try lra. intros n _ [].
  - set (x := fst b - fst a). set (y := snd b - snd a).
    set (k := ((fst z - fst a) * x + (snd z - snd a) * y) / (x * x + y * y)).
    assert (P : x * x + y * y <> 0).
    { intro Q. apply N. destruct (Rplus_sqr_eq_0 x y Q) as [Zx Zy]. unfold x, y in Zx, Zy. destruct a, b; simpl in *.
      f_equal; lra. }
    assert (Only : forall n, z = mid a b n -> n = k).
    { intros n ->. unfold k, mid; cbn [fst snd]. apply Rmult_eq_reg_r with (x * x + y * y); auto.
      transitivity (n * (x * x + y * y)); [ring|]. unfold x, y in *. field. exact P. }
    destruct (Rlt_dec lo k) as [A|A].
    + exists lo, (Rmin k hi). assert (lo < Rmin k hi) by (now apply Rmin_glb_lt).
      assert (Rmin k hi <= hi) by apply Rmin_r. assert (Rmin k hi <= k) by apply Rmin_l. repeat split; try lra.
      intros n Hn [Q|Q]; [apply Only in Q; lra|]. apply (IH n); auto; lra.
    + exists lo, hi. repeat split; auto. intros n Hn [Q|Q]; [apply Only in Q; lra|]. apply (IH n); auto.
Qed.
Lemma edge_inside : forall t t' i j n, inner T t t' i j -> 0 < n < 1 -> inside d (mid (V i) (V j) n).
Proof.
  intros t t' i j n I Hn. pose proof I as (Ht & Ht' & _ & D & Hi & Hj & Hi' & Hj').
  destruct (near_edge t i j n Ht Hi Hj D Hn) as (g & e & Hg & He & A & B & _).
  destruct (near_edge t' i j n Ht' Hi' Hj' D Hn) as (g' & e' & Hg' & He' & A' & B' & _).
  pose proof (sides_opp V T d M t t' i j _ _ I (centre_open _ (Ccw t Ht)) (centre_open _ (Ccw t' Ht'))) as O.
  pose proof (A _ (centre_open _ (Ccw t Ht))) as X. pose proof (A' _ (centre_open _ (Ccw t' Ht'))) as X'.
  exists (Rmin e e'). split; [now apply Rmin_glb_lt|]. intros q Hq. unfold ball in Hq. apply (m_cover V T d M).
  destruct (Rle_dec 0 (g * left (V i) (V j) q)) as [L|L]; [exists t; split; auto; apply B; auto; unfold ball;
    eapply Rlt_le_trans; [exact Hq|apply Rmin_l]|].
  exists t'. split; auto. apply B'; [unfold ball; eapply Rlt_le_trans; [exact Hq|apply Rmin_r]|].
  destruct Hg as [-> | ->], Hg' as [-> | ->]; nra.
Qed.
Lemma same_numbers : forall t g c s tx ty g' c' s' tx' ty' p e, In t T -> moves t g c s tx ty -> open (geo t) p ->
  0 < e -> (forall q, ball p e q -> G q = rig g' c' s' tx' ty' q) ->
  forall q, rig g c s tx ty q = rig g' c' s' tx' ty' q.
Proof.
  intros t g c s tx ty g' c' s' tx' ty' p e Ht (_ & _ & H) O He H' q. destruct (open_nbhd V t p O) as (e1 & He1 & H1).
  assert (X : (tx, c, - (g * s), (ty, s, g * c)) = (tx', c', - (g' * s'), (ty', s', g' * c'))).
  { apply (germ_unique G p).
    - exists e1. split; auto. intros x Hx. rewrite rig_af. auto.
    - exists e. split; auto. intros x Hx. rewrite rig_af. auto. }
  rewrite <- !rig_af. now rewrite X.
Qed.
Lemma half : forall u i j n e gu eps sg c0 s0 tx0 ty0 g c s tx ty, In u T -> (gu = 1 \/ gu = -1) -> 0 < eps -> 0 < e ->
  (forall q, open (geo u) q -> 0 < gu * left (V i) (V j) q) -> (forall q, ball (mid (V i) (V j) n) e q ->
    0 < gu * left (V i) (V j) q -> open (geo u) q) ->
  (forall q, ball (mid (V i) (V j) n) eps q -> 0 <= gu * left (V i) (V j) q -> G q = rig sg c0 s0 tx0 ty0 q) ->
    moves u g c s tx ty ->
  forall q, rig g c s tx ty q = rig sg c0 s0 tx0 ty0 q.
Proof.
  intros u i j n e gu eps sg c0 s0 tx0 ty0 g c s tx ty Hu Hgu Heps He A B HH Mo. set (p := mid (V i) (V j) n) in *.
  set (z := centre (geo u)). pose proof (A z (centre_open _ (Ccw u Hu))) as Az.
  destruct (mid_near p z (Rmin e eps)) as (t & Ht & Hb); [now apply Rmin_glb_lt|]. set (q0 := mid p z t) in *.
  unfold ball in Hb.
  assert (B1 : dist p q0 < e) by (eapply Rlt_le_trans; [exact Hb|apply Rmin_l]).
  assert (B2 : dist p q0 < eps) by (eapply Rlt_le_trans; [exact Hb|apply Rmin_r]).
  assert (L0 : left (V i) (V j) p = 0) by apply left_ends.
  assert (P0 : 0 < gu * left (V i) (V j) q0).
  { unfold q0. rewrite left_mid, L0. assert (0 < t * (gu * left (V i) (V j) z)) by (apply Rmult_lt_0_compat; lra). lra.
      }
  assert (O : open (geo u) q0) by (apply B; auto). destruct (open_nbhd V u q0 O) as (e1 & He1 & H1).
  apply (same_numbers u g c s tx ty sg c0 s0 tx0 ty0 q0 (Rmin e1 (eps - dist p q0)) Hu Mo O); [apply Rmin_glb_lt; lra|].
  intros x Hx. unfold ball in Hx. assert (X1 : dist q0 x < e1) by (eapply Rlt_le_trans; [exact Hx|apply Rmin_l]).
  assert (X2 : dist q0 x < eps - dist p q0) by (eapply Rlt_le_trans; [exact Hx|apply Rmin_r]).
  apply HH; [unfold ball; pose proof (dist_tri p q0 x); lra|]. left. apply A. now apply H1.
Qed.
Lemma opposite_sides : forall t t' i j gt gt', inner T t t' i j -> (gt = 1 \/ gt = -1) -> (gt' = 1 \/ gt' = -1) ->
  (forall q, open (geo t) q -> 0 < gt * left (V i) (V j) q) -> (forall q, open (geo t') q ->
    0 < gt' * left (V i) (V j) q) -> gt' = - gt.
Proof.
  intros t t' i j gt gt' I Hg Hg' A A'. pose proof I as (Ht & Ht' & _).
  pose proof (sides_opp V T d M t t' i j _ _ I (centre_open _ (Ccw t Ht)) (centre_open _ (Ccw t' Ht'))) as O.
  pose proof (A _ (centre_open _ (Ccw t Ht))) as X. pose proof (A' _ (centre_open _ (Ccw t' Ht'))) as X'.
  destruct Hg as [-> | ->], Hg' as [-> | ->]; try lra; exfalso; nra.
Qed.
Theorem across_fold : forall t t' i j a b k, inner T t t' i j -> In (a, b, k) (creases d) -> is_fold k ->
  on_seg a b (V i) -> on_seg a b (V j) ->
  forall g c s tx ty g' c' s' tx' ty', moves t g c s tx ty -> moves t' g' c' s' tx' ty' ->
    forall x, rig g' c' s' tx' ty' x = rig g c s tx ty (reflect (V i) (V j) x).
Proof.
  intros t t' i j a b k I Hc Fk Si Sj g c s tx ty g' c' s' tx' ty' Mo Mo'.
  pose proof I as (Ht & Ht' & _ & D & Hi & Hj & Hi' & Hj').
  pose proof (V_ne V T Ccw t i j Ht Hi Hj D) as NV. destruct (fm_fold d G FG) as (Z & HZ).
  destruct (avoid (V i) (V j) Z NV) as (lo & hi & L0 & L1 & L2 & Av). set (n := (lo + hi) / 2).
  assert (Hn : 0 < n < 1) by (unfold n; lra). set (p := mid (V i) (V j) n).
  pose proof (edge_inside t t' i j n I Hn) as Ip. fold p in Ip.
  assert (Sp : on_seg a b p) by (apply (Chain.seg_sub _ _ (V i) (V j)); auto; exists n; split; [lra|reflexivity]).
  destruct (HZ a b k p Hc Fk Sp Ip) as (eps & sigma & He & Hs & (c1 & s1 & tx1 & ty1 & N1 & R1) &
    (c2 & s2 & tx2 & ty2 & N2 & R2)); [apply Av; unfold n; lra|].
  destruct Si as (u1 & Hu1 & E1). destruct Sj as (u2 & Hu2 & E2). fold (mid a b u1) in E1. fold (mid a b u2) in E2.
  assert (Kl : forall q, left (V i) (V j) q = (u2 - u1) * left a b q) by (intro q; rewrite E1, E2; unfold left, mid;
    simpl; ring).
  assert (Ku : u2 - u1 <> 0) by (intro Q; apply NV; rewrite E1, E2; f_equal; lra). set (K := u2 - u1) in *.
  destruct (near_edge t i j n Ht Hi Hj D Hn) as (gt & e & Hg & Hee & A & _ & B).
  destruct (near_edge t' i j n Ht' Hi' Hj' D Hn) as (gt' & e' & Hg' & Hee' & A' & _ & B').
  pose proof (opposite_sides t t' i j gt gt' I Hg Hg' A A') as Og.
  (* both halves, with the sign of the one that t lies on *)
  assert (Main : forall sg ca sa txa tya cb sb txb tyb, sg * sg = 1 ->
    (forall q, ball p eps q -> 0 <= gt * left (V i) (V j) q -> G q = rig sg ca sa txa tya q) ->
      (forall q, ball p eps q -> 0 <= gt' * left (V i) (V j) q -> G q = rig (- sg) cb sb txb tyb q) ->
    forall x, rig g' c' s' tx' ty' x = rig g c s tx ty (reflect (V i) (V j) x)).
  { intros sg ca sa txa tya cb sb txb tyb Sg Ra Rb x.
    pose proof (half t i j n e gt eps sg ca sa txa tya g c s tx ty Ht Hg He Hee A B Ra Mo) as Xa.
    pose proof (half t' i j n e' gt' eps (- sg) cb sb txb tyb g' c' s' tx' ty' Ht' Hg' He Hee' A' B' Rb Mo') as Xb.
    rewrite Xa, Xb.
    destruct (rig_reflect sg ca sa txa tya (V i) (V j) Sg NV) as (c3 & s3 & tx3 & ty3 & X3). rewrite X3.
    assert (On : forall q, left (V i) (V j) q = 0 -> ball p eps q -> rig (- sg) cb sb txb tyb q = rig (- sg) c3 s3 tx3
      ty3 q).
    { intros q Lq Bq.
      rewrite <- X3, (reflect_on _ _ _ Lq), <- (Ra q Bq), <- (Rb q Bq); [reflexivity|rewrite Lq; lra|rewrite Lq; lra]. }
    destruct (mid_near p (V j) eps He) as (m & Hm & Bm). set (r := mid p (V j) m) in *.
    assert (Lp : left (V i) (V j) p = 0) by apply left_ends.
    assert (Lj : left (V i) (V j) (V j) = 0) by (unfold left; ring).
    assert (Lr : left (V i) (V j) r = 0) by (unfold r; rewrite left_mid, Lp, Lj; ring).
    apply (rig_two (- sg) cb sb txb tyb c3 s3 tx3 ty3 p r); [lra| |apply On; auto; unfold ball, dist;
      rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra|apply On; auto].
    intro Q. apply NV. unfold r, p, mid in Q. injection Q as Qx Qy.
    destruct (V i) as [ix iy], (V j) as [jx jy]; cbn [fst snd] in *.
    assert (Kx : m * (1 - n) * (jx - ix) = 0) by lra. assert (Ky : m * (1 - n) * (jy - iy) = 0) by lra.
    assert (Pm : 0 < m * (1 - n)) by (apply Rmult_lt_0_compat; lra). apply Rmult_integral in Kx, Ky.
    destruct Kx, Ky; try lra. f_equal; lra. }
  assert (Sq : sigma * sigma = 1) by (destruct Hs as [-> | ->]; ring). assert (Sq' : - sigma * - sigma = 1) by lra.
  destruct (Rlt_dec 0 (gt * K)) as [Pk|Pk].
  - apply (Main sigma c1 s1 tx1 ty1 c2 s2 tx2 ty2 Sq); intros q Hq Lq; [apply R1|apply R2]; (split; [exact Hq|]);
      rewrite Kl in Lq; [|rewrite Og in Lq].
    + apply Rmult_le_reg_l with (gt * K); [exact Pk|lra]. + apply Rmult_le_reg_l with (gt * K); [exact Pk|lra].
  - assert (Pk' : 0 < - (gt * K)).
  { assert (gt * K <> 0) by (intro Q; apply Rmult_integral in Q; destruct Q as [Q|Q];
      [destruct Hg as [-> | ->]; lra|contradiction]).
    lra. }
    apply (Main (- sigma) c2 s2 tx2 ty2 c1 s1 tx1 ty1 Sq').
    + intros q Hq Lq. apply R2. split; [exact Hq|]. rewrite Kl in Lq.
      apply Rmult_le_reg_l with (- (gt * K)); [exact Pk'|lra].
    + intros q Hq Lq. rewrite Ropp_involutive. apply R1. split; [exact Hq|]. rewrite Kl, Og in Lq.
      apply Rmult_le_reg_l with (- (gt * K)); [exact Pk'|lra].
Qed.
Theorem across_flat : forall t t' i j n, inner T t t' i j -> 0 < n < 1 -> ~ on_fold d (mid (V i) (V j) n) ->
  forall g c s tx ty g' c' s' tx' ty', moves t g c s tx ty -> moves t' g' c' s' tx' ty' ->
    forall x, rig g' c' s' tx' ty' x = rig g c s tx ty x.
Proof.
  intros t t' i j n I Hn Nf g c s tx ty g' c' s' tx' ty' Mo Mo' x.
  pose proof I as (Ht & Ht' & _ & D & Hi & Hj & Hi' & Hj').
  destruct (near_edge t i j n Ht Hi Hj D Hn) as (gt & e & Hg & Hee & A & _ & B).
  destruct (near_edge t' i j n Ht' Hi' Hj' D Hn) as (gt' & e' & Hg' & Hee' & A' & _ & B').
  assert (X : exists eps sg c0 s0 tx0 ty0, 0 < eps /\ forall q, ball (mid (V i) (V j) n) eps q ->
    G q = rig sg c0 s0 tx0 ty0 q).
  { destruct (fm_flat d G FG _ (edge_inside t t' i j n I Hn) Nf) as [(eps & He & c0 & s0 & tx0 & ty0 & _ & H)|(eps & He
      & c0 & s0 & tx0 & ty0 & _ & H)]; [exists eps, 1, c0, s0, tx0, ty0|exists eps, (-1), c0, s0, tx0, ty0];
      (split; [exact He|exact H]). }
  destruct X as (eps & sg & c0 & s0 & tx0 & ty0 & He & H).
  rewrite (half t i j n e gt eps sg c0 s0 tx0 ty0 g c s tx ty Ht Hg He Hee A B (fun q Hq _ => H q Hq) Mo x).
  exact (half t' i j n e' gt' eps sg c0 s0 tx0 ty0 g' c' s' tx' ty' Ht' Hg' He Hee' A' B' (fun q Hq _ => H q Hq) Mo' x).
Qed.
(* a walk over triangles; the fold edges that it crosses, the last first *)
Inductive walk : tr -> tr -> list (nat * nat) -> Prop :=
| walk_self t : In t T -> walk t t []
| walk_fold t u v i j a b k l : walk t u l -> inner T u v i j -> In (a, b, k) (creases d) -> is_fold k ->
  on_seg a b (V i) -> on_seg a b (V j) -> walk t v ((i, j) :: l)
| walk_flat t u v i j n l : walk t u l -> inner T u v i j -> 0 < n < 1 -> ~ on_fold d (mid (V i) (V j) n) -> walk t v l.
Fixpoint reflected (l : list (nat * nat)) (x : pt) : pt := match l with [] => x | (i, j) :: r =>
  reflected r (reflect (V i) (V j) x) end.
Lemma walk_end : forall t u l, walk t u l -> In u T.
Proof. induction 1 as [|t u v i j a b k l _ _ I|t u v i j n l _ _ I]; auto; destruct I as (_ & Hv & _); auto. Qed.
Lemma walk_moves : forall t u l, walk t u l -> forall g c s tx ty g' c' s' tx' ty', moves t g c s tx ty ->
  moves u g' c' s' tx' ty' -> forall x, rig g' c' s' tx' ty' x = rig g c s tx ty (reflected l x).
Proof.
  intros t u l W.
  induction W as [t Ht|t u v i j a b k l W IH I Hc Fk Si Sj|t u v i j n l W IH I Hn Nf];
    intros g c s tx ty g' c' s' tx' ty' Mo Mo' x.
  - simpl. pose proof (centre_open _ (Ccw t Ht)) as O. destruct (open_nbhd V t _ O) as (e & He & Hq).
    pose proof Mo as (_ & _ & Hm).
    exact (same_numbers t g' c' s' tx' ty' g c s tx ty (centre (geo t)) e Ht Mo' O He (fun q Hb => Hm q (Hq q Hb)) x).
  - destruct (moves_ex u (walk_end _ _ _ W)) as (gu & cu & su & txu & tyu & Mu). cbn [reflected].
    rewrite (across_fold u v i j a b k I Hc Fk Si Sj _ _ _ _ _ _ _ _ _ _ Mu Mo' x).
    apply (IH _ _ _ _ _ _ _ _ _ _ Mo Mu).
  - destruct (moves_ex u (walk_end _ _ _ W)) as (gu & cu & su & txu & tyu & Mu).
    rewrite (across_flat u v i j n I Hn Nf _ _ _ _ _ _ _ _ _ _ Mu Mo' x). apply (IH _ _ _ _ _ _ _ _ _ _ Mo Mu).
Qed.
Lemma rig_inj : forall g c s tx ty x y, (g = 1 \/ g = -1) -> c * c + s * s = 1 ->
  rig g c s tx ty x = rig g c s tx ty y -> x = y.
Proof.
  intros g c s tx ty [x1 x2] [y1 y2] Hg N E. unfold rig in E; cbn [fst snd] in E. injection E as E1 E2.
  assert (G2 : g * g = 1) by (destruct Hg as [-> | ->]; ring).
  set (u := x1 - y1). set (v := x2 - y2). assert (A1 : c * u - g * s * v = 0) by (unfold u, v; lra).
  assert (A2 : s * u + g * c * v = 0) by (unfold u, v; lra).
  assert (U : u = 0).
  { transitivity ((c * c + s * s) * u); [rewrite N; ring|].
    transitivity (c * (c * u - g * s * v) + s * (s * u + g * c * v)); [ring|rewrite A1, A2; ring]. }
  assert (W : v = 0).
  { transitivity ((g * g) * (c * c + s * s) * v); [rewrite N, G2; ring|].
    transitivity (g * (c * (s * u + g * c * v) - s * (c * u - g * s * v))); [ring|rewrite A1, A2; ring]. }
  unfold u, v in *. f_equal; lra.
Qed.
Theorem walk_closes : forall t l, walk t t l -> forall x, reflected l x = x.
Proof.
  intros t l W x. destruct (moves_ex t (walk_end _ _ _ W)) as (g & c & s & tx & ty & Mo).
  pose proof (walk_moves t t l W _ _ _ _ _ _ _ _ _ _ Mo Mo x) as E. destruct Mo as (Hg & N & _). symmetry.
  now apply (rig_inj g c s tx ty).
Qed.
End Cross.
(* the refutation "closure": a walk from a triangle to itself whose reflections move a point: no fold map exists *)
Theorem closure_refutes : forall V T d t l x, mesh V T d -> (forall t p, In t T -> open (geo V t) p -> ~ on_fold d p) ->
  walk V T d t t l -> reflected V l x <> x -> ~ exists G, fold_map d G.
Proof. intros V T d t l x M Off W N (G & FG). apply N. exact (walk_closes V T d G M FG Off t l W x). Qed.
