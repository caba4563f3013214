(* The fold map: one isometry a triangle, agreeing at common corners; well defined and continuous on the sheet. *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover.
Import ListNotations.
Open Scope R_scope.

Record tr := Tr { ci : nat; cj : nat; ck : nat; tu : bool; tf : nat }.
(* corners, counter-clockwise; turned over?; of which face *)
Definition corner (t : tr) (i : nat) := i = ci t \/ i = cj t \/ i = ck t.
Definition sg (t : tr) : R := if tu t then -1 else 1.
Lemma sg_cases : forall t, sg t = 1 \/ sg t = -1. Proof. intro t; unfold sg; destruct (tu t); auto. Qed.

Lemma closed_cases : forall a b c p, ccw (a, b, c) -> closed (a, b, c) p ->
  open (a, b, c) p \/ (p = a \/ p = b \/ p = c) \/ exists l, 0 < l < 1 /\
    (p = mid a b l \/ p = mid b c l \/ p = mid c a l).
Proof.
  assert (X : forall a b c p, 0 < left a b c -> 0 <= left b c p -> 0 <= left c a p -> left a b p = 0 ->
     p = a \/ p = b \/ exists l, 0 < l < 1 /\ p = mid a b l).
  { intros a b c p HD A B G. destruct (bary a b c p) as (S & Y & X). rewrite G in S, Y, X.
    set (D := left a b c) in *. set (al := left b c p) in *. set (be := left c a p) in *. clearbody D al be.
    assert (P : p = mid a b (be / D)).
    { unfold mid. destruct p as [px py]; simpl in *. f_equal; apply Rmult_eq_reg_l with D; try lra;
      [rewrite X|rewrite Y]; replace al with (D - be) by lra; field; lra. }
    destruct (Req_dec be 0) as [E|E]; [left|destruct (Req_dec al 0) as [E'|E']; [right; left|right; right]].
    - rewrite P, E. unfold mid. destruct a; simpl. f_equal; field; lra.
    - rewrite P. replace be with D by lra. unfold mid. destruct b; simpl. f_equal; field; lra.
    - exists (be / D). split; auto. split; [apply Rdiv_lt_0_compat; lra|]. apply Rmult_lt_reg_r with D; auto.
      unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra. }
  assert (Rot : forall a b c, left b c a = left a b c) by (intros; unfold left; ring).
  intros a b c p HD (G & A & B). unfold ccw in HD.
  destruct (Req_dec (left a b p) 0) as [E|E].
  { destruct (X a b c p HD A B E) as [->|[->|(l & Hl & ->)]]; eauto 8. }
  destruct (Req_dec (left b c p) 0) as [E1|E1].
  { destruct (X b c a p) as [->|[->|(l & Hl & ->)]]; eauto 8. rewrite Rot; exact HD. }
  destruct (Req_dec (left c a p) 0) as [E2|E2].
  { destruct (X c a b p) as [->|[->|(l & Hl & ->)]]; eauto 8. rewrite <- Rot; exact HD. }
  left. unfold open. lra.
Qed.

Section Iso.
Variables (ux uy vx vy sx sy rx ry sig : R).     (* edge vectors u v, their images s r *)
Hypotheses (Hs : sig * sig = 1) (HD : ux * vy - uy * vx <> 0)
  (H1 : ux * ux + uy * uy = sx * sx + sy * sy) (H2 : ux * vx + uy * vy = sx * rx + sy * ry)
  (H3 : ux * vy - uy * vx = sig * (sx * ry - sy * rx)).
Lemma iso_ex : exists c s, c * c + s * s = 1 /\ sx = c * ux - sig * s * uy /\ sy = s * ux + sig * c * uy /\
   rx = c * vx - sig * s * vy /\ ry = s * vx + sig * c * vy.
Proof.
  set (n := ux * ux + uy * uy).
  assert (Hn : n <> 0).
  { intro E. apply HD. assert (ux = 0) by (unfold n in E; nra). assert (uy = 0) by (unfold n in E; nra). subst; ring. }
  assert (H3' : sx * ry - sy * rx = sig * (ux * vy - uy * vx)) by (rewrite H3, <- Rmult_assoc, Hs; ring).
  exists ((ux * sx + sig * uy * sy) / n), ((ux * sy - sig * uy * sx) / n).
  assert (N1 : sx * sx + sy * sy = n) by (unfold n; lra).
  split; [|split; [|split; [|split]]].
  - apply Rmult_eq_reg_r with (n * n); [|now apply Rmult_integral_contrapositive_currified].
    replace (_ * (n * n)) with ((ux * sx + sig * uy * sy) * (ux * sx + sig * uy * sy) + (ux * sy - sig * uy * sx) *
      (ux * sy - sig * uy * sx)) by (field; auto).
    transitivity ((ux * ux + (sig * sig) * (uy * uy)) * (sx * sx + sy * sy)); [ring|]. rewrite Hs, N1. unfold n; ring.
  - apply Rmult_eq_reg_r with n; auto.
    transitivity ((ux * sx + sig * uy * sy) * ux - sig * (ux * sy - sig * uy * sx) * uy); [|field; auto].
    transitivity (ux * ux * sx + (sig * sig) * (uy * uy) * sx); [rewrite Hs; unfold n; ring|ring].
  - apply Rmult_eq_reg_r with n; auto.
    transitivity ((ux * sy - sig * uy * sx) * ux + sig * (ux * sx + sig * uy * sy) * uy); [|field; auto].
    transitivity (ux * ux * sy + (sig * sig) * (uy * uy) * sy); [rewrite Hs; unfold n; ring|ring].
  - apply Rmult_eq_reg_r with n; auto.
    transitivity ((ux * sx + sig * uy * sy) * vx - sig * (ux * sy - sig * uy * sx) * vy); [|field; auto].
    transitivity ((ux * vx + (sig * sig) * (uy * vy)) * sx - sig * (ux * vy - uy * vx) * sy); [|ring].
    rewrite Hs, <- H3'. rewrite Rmult_1_l, H2, <- N1. ring.
  - apply Rmult_eq_reg_r with n; auto.
    transitivity ((ux * sy - sig * uy * sx) * vx + sig * (ux * sx + sig * uy * sy) * vy); [|field; auto].
    transitivity ((ux * vx + (sig * sig) * (uy * vy)) * sy + sig * (ux * vy - uy * vx) * sx); [|ring].
    rewrite Hs, <- H3'. rewrite Rmult_1_l, H2, <- N1. ring.
Qed.
End Iso.

Section Mesh.
Variables (V W : nat -> pt) (T : list tr).
Definition geo (t : tr) : tri := (V (ci t), V (cj t), V (ck t)).
Definition Dt t := left (V (ci t)) (V (cj t)) (V (ck t)).
Definition wa t p := left (V (cj t)) (V (ck t)) p / Dt t.
Definition wb t p := left (V (ck t)) (V (ci t)) p / Dt t.
Definition wc t p := left (V (ci t)) (V (cj t)) p / Dt t.
Definition Ft (t : tr) (p : pt) : pt :=     (* barycentric: the affine map that carries the corners to their images *)
  (wa t p * fst (W (ci t)) + wb t p * fst (W (cj t)) + wc t p * fst (W (ck t)),
   wa t p * snd (W (ci t)) + wb t p * snd (W (cj t)) + wc t p * snd (W (ck t))).
Definition dot2 (a b c d e f : pt) := (fst b - fst a) * (fst c - fst a) + (snd b - snd a) * (snd c - snd a)
   = (fst e - fst d) * (fst f - fst d) + (snd e - snd d) * (snd f - snd d).
Definition congr (t : tr) := let a := V (ci t) in let b := V (cj t) in let c := V (ck t) in
  let a' := W (ci t) in let b' := W (cj t) in let c' := W (ck t) in
  dot2 a b b a' b' b' /\ dot2 a b c a' b' c' /\ left a b c = sg t * left a' b' c'.
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis Hcongr : forall t, In t T -> congr t.

Lemma Ft_corner : forall t i, In t T -> corner t i -> Ft t (V i) = W i.
Proof.
  intros t i Ht Hi. pose proof (Hccw t Ht) as HD. unfold ccw, geo in HD. unfold Ft, wa, wb, wc, Dt.
  assert (Z : forall a b, left a b a = 0) by (intros; unfold left; ring).
  assert (Z' : forall a b, left a b b = 0) by (intros; unfold left; ring).
  set (a := V (ci t)) in *. set (b := V (cj t)) in *. set (c := V (ck t)) in *.
  assert (R1 : left b c a = left a b c) by (unfold left; ring).
  assert (R2 : left c a b = left a b c) by (unfold left; ring).
  destruct Hi as [-> | [-> | ->]]; fold a b c; rewrite ?Z, ?Z', ?R1, ?R2;
    [destruct (W (ci t))|destruct (W (cj t))|destruct (W (ck t))]; simpl; f_equal; field; lra.
Qed.
Lemma Ft_mid : forall t p q l, Ft t (mid p q l) = mid (Ft t p) (Ft t q) l.
Proof. intros. unfold Ft, wa, wb, wc. rewrite !left_mid. unfold mid; simpl. f_equal; unfold Rdiv; ring. Qed.
Lemma Ft_rigid : forall t, In t T -> exists c s tx ty, c * c + s * s = 1 /\
   forall q, Ft t q = (tx + c * fst q - sg t * s * snd q, ty + s * fst q + sg t * c * snd q).
Proof.
  intros t Ht. pose proof (Hccw t Ht) as HD. unfold ccw, geo in HD. destruct (Hcongr t Ht) as (C1 & C2 & C3).
  unfold dot2 in C1, C2.
  set (a := V (ci t)) in *. set (b := V (cj t)) in *. set (c := V (ck t)) in *.
  set (a' := W (ci t)) in *. set (b' := W (cj t)) in *. set (c' := W (ck t)) in *.
  destruct (iso_ex (fst b - fst a) (snd b - snd a) (fst c - fst a) (snd c - snd a) (fst b' - fst a') (snd b' - snd a')
    (fst c' - fst a') (snd c' - snd a') (sg t))
    as (cc & s & E & E1 & E2 & E3 & E4); auto.
  - destruct (sg_cases t) as [-> | ->]; ring.
  - unfold left in HD. lra.
  - exists cc, s, (fst a' - cc * fst a + sg t * s * snd a), (snd a' - s * fst a - sg t * cc * snd a). split; auto.
    intro q.
    destruct (bary a b c q) as (S & Y & X). unfold Ft, wa, wb, wc, Dt. fold a b c a' b' c'.
    set (D := left a b c) in *. set (al := left b c q) in *. set (be := left c a q) in *. set (ga := left a b q) in *.
    clearbody D al be ga.
    assert (FX : D * (fst q - fst a) = be * (fst b - fst a) + ga * (fst c - fst a)) by
      (rewrite Rmult_minus_distr_l, X, S; ring).
    assert (FY : D * (snd q - snd a) = be * (snd b - snd a) + ga * (snd c - snd a)) by
      (rewrite Rmult_minus_distr_l, Y, S; ring).
    assert (AL : al = D - be - ga) by lra.
    f_equal; apply Rmult_eq_reg_l with D; try lra.
    + transitivity (al * fst a' + be * fst b' + ga * fst c'); [field; lra|].
      transitivity (D * fst a' + be * (fst b' - fst a') + ga * (fst c' - fst a')); [rewrite AL; ring|]. rewrite E1, E3.
      transitivity (D * fst a' + cc * (D * (fst q - fst a)) - sg t * s * (D * (snd q - snd a)));
        [rewrite FX, FY; ring|ring].
    + transitivity (al * snd a' + be * snd b' + ga * snd c'); [field; lra|].
      transitivity (D * snd a' + be * (snd b' - snd a') + ga * (snd c' - snd a')); [rewrite AL; ring|]. rewrite E2, E4.
      transitivity (D * snd a' + s * (D * (fst q - fst a)) + sg t * cc * (D * (snd q - snd a)));
        [rewrite FX, FY; ring|ring].
Qed.

(* ---- what the checker finds by signs of left(V,V,V), pair by pair ---- *)
Hypothesis P1 : forall t u q, In t T -> In u T -> open (geo t) q -> closed (geo u) q -> t = u.
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo u) (V i) -> corner u i.
Hypothesis Hne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t.

Theorem share : forall t p, In t T -> closed (geo t) p ->
  (open (geo t) p /\ forall u, In u T -> closed (geo u) p -> u = t) \/
  (exists i, corner t i /\ p = V i /\ forall u, In u T -> closed (geo u) p -> corner u i) \/
  (exists i j l, corner t i /\ corner t j /\ i <> j /\ 0 < l < 1 /\ p = mid (V i) (V j) l /\
      forall u, In u T -> closed (geo u) p -> corner u i /\ corner u j).
Proof.
  intros t p Ht Hp. destruct (Hne t Ht) as (N1 & N2 & N3). unfold corner.
  destruct (closed_cases _ _ _ p (Hccw t Ht) Hp) as [O|[[E|[E|E]]|(l & Hl & [E|[E|E]])]].
  - left. split; [exact O|]. intros u Hu Hc. symmetry. eapply P1; eauto.
  - right; left. exists (ci t). repeat split; auto. intros u Hu Hc. apply (P3 t); auto. now left. now rewrite <- E.
  - right; left. exists (cj t). repeat split; auto. intros u Hu Hc. apply (P3 t); auto. now right; left.
    now rewrite <- E.
  - right; left. exists (ck t). repeat split; auto. intros u Hu Hc. apply (P3 t); auto. now right; right.
    now rewrite <- E.
  - right; right. exists (ci t), (cj t), l.
    repeat split; auto; try tauto; apply (P2 t u (ci t) (cj t) l) ; unfold corner; auto; now rewrite <- E.
  - right; right. exists (cj t), (ck t), l.
    repeat split; auto; try tauto; apply (P2 t u (cj t) (ck t) l) ; unfold corner; auto; now rewrite <- E.
  - right; right. exists (ck t), (ci t), l.
    repeat split; auto; try tauto; apply (P2 t u (ck t) (ci t) l) ; unfold corner; auto; now rewrite <- E.
Qed.
Theorem agree : forall t u p, In t T -> In u T -> closed (geo t) p -> closed (geo u) p -> Ft t p = Ft u p.
Proof.
  intros t u p Ht Hu Ct Cu.
  destruct (share t p Ht Ct) as [[_ X]|[(i & Hi & -> & X)|(i & j & l & Hi & Hj & N & Hl & -> & X)]].
  - now rewrite (X u Hu Cu).
  - rewrite !Ft_corner; auto.
  - destruct (X u Hu Cu). rewrite !Ft_mid, !Ft_corner; auto.
Qed.
Fixpoint pick (S : list tr) p : option tr := match S with [] => None | t :: r =>
  if closed_dec (geo t) p then Some t else pick r p end.
Definition F (p : pt) : pt := match pick T p with Some t => Ft t p | None => p end.
Theorem F_on : forall t p, In t T -> closed (geo t) p -> F p = Ft t p.
Proof.
  intros t p Ht Hc. unfold F. assert (X : exists u, pick T p = Some u /\ In u T /\ closed (geo u) p).
  { clear - Ht Hc. induction T as [|v S IH]; [destruct Ht|]. simpl.
    destruct (closed_dec (geo v) p); [exists v; split; [reflexivity|split; [now left|auto]]|].
    destruct Ht as [->|Ht]; [contradiction|]. destruct (IH Ht) as (u & E & I & C). exists u.
    split; [auto|split; [now right|auto]]. }
  destruct X as (u & -> & Hu & Cu). apply agree; auto.
Qed.
Lemma Ft_lip : forall t p q, In t T -> dist (Ft t p) (Ft t q) <= 2 * dist p q.
Proof.
  intros t p q Ht. destruct (Ft_rigid t Ht) as (c & s & tx & ty & E & H). rewrite !H. unfold dist; simpl.
  set (M := Rmax (Rabs (fst p - fst q)) (Rabs (snd p - snd q))).
  assert (Rabs (fst p - fst q) <= M) by apply Rmax_l. assert (Rabs (snd p - snd q) <= M) by apply Rmax_r.
  assert (Bd : forall k, k * k <= 1 -> Rabs k <= 1) by (intros k Hk; apply Rabs_le; nra).
  assert (Hc : Rabs c <= 1) by (apply Bd; nra). assert (Hs : Rabs s <= 1) by (apply Bd; nra).
  assert (Hg : Rabs (sg t) = 1) by (destruct (sg_cases t) as [-> | ->]; unfold Rabs; destruct Rcase_abs; lra).
  pose proof (Rabs_pos (fst p - fst q)). pose proof (Rabs_pos (snd p - snd q)). pose proof (Rabs_pos c).
  pose proof (Rabs_pos s).
  apply Rmax_lub.
  - replace (tx + c * fst p - sg t * s * snd p - (tx + c * fst q - sg t * s * snd q)) with
      (c * (fst p - fst q) + - (sg t * s * (snd p - snd q))) by ring.
    eapply Rle_trans; [apply Rabs_triang|]. rewrite Rabs_Ropp, !Rabs_mult, Hg. nra.
  - replace (ty + s * fst p + sg t * c * snd p - (ty + s * fst q + sg t * c * snd q)) with
      (s * (fst p - fst q) + sg t * c * (snd p - snd q)) by ring.
    eapply Rle_trans; [apply Rabs_triang|]. rewrite !Rabs_mult, Hg. nra.
Qed.
(* near p only the triangles that contain p matter *)
Lemma near : forall p, exists e, 0 < e /\ forall q t, ball p e q -> In t T -> closed (geo t) q -> closed (geo t) p.
Proof.
  intro p.
  destruct (none_nbhd (map geo (filter (fun t => if closed_dec (geo t) p then false else true) T)) p) as (e & He & Hq).
  - intros t Ht. apply in_map_iff in Ht. destruct Ht as (u & <- & Hu). apply filter_In in Hu. destruct Hu as [_ Hu].
    destruct (closed_dec (geo u) p); auto; discriminate.
  - exists e. split; auto. intros q t Hb Ht Hc. destruct (closed_dec (geo t) p) as [|N]; auto. exfalso.
    apply (Hq q Hb (geo t)); auto. apply in_map, filter_In. split; auto.
    destruct (closed_dec (geo t) p); auto; contradiction.
Qed.
Lemma side : forall t i j q, In t T -> corner t i -> corner t j -> left (W i) (W j) (Ft t q) = sg t * left (V i) (V j)
  q.
Proof.
  intros t i j q Ht Hi Hj. destruct (Ft_rigid t Ht) as (c & s & tx & ty & E & H).
  rewrite <- (Ft_corner t i), <- (Ft_corner t j), !H by auto. unfold left; simpl.
  transitivity (sg t * (c * c + s * s) * ((fst (V j) - fst (V i)) * (snd q - snd (V i)) - (snd (V j) - snd (V i)) *
    (fst q - fst (V i)))).
  - assert (G : sg t * sg t = 1) by (destruct (sg_cases t) as [-> | ->]; ring).
    replace (sg t * (c * c + s * s)) with (sg t * (c * c) + (sg t * sg t) * sg t * (s * s)) by (rewrite G; ring).
    assert (G3 : sg t * sg t * sg t = sg t) by (rewrite G; ring). ring_simplify.
    replace (sg t ^ 3) with (sg t) by (rewrite <- G3 at 1; ring).
    replace (sg t ^ 2) with 1 by (rewrite <- G; ring). ring.
  - rewrite E; ring.
Qed.
Lemma Ft_inj : forall t p q, In t T -> Ft t p = Ft t q -> p = q.
Proof.
  intros t p q Ht E. pose proof (Hccw t Ht) as HD. unfold ccw, geo in HD. fold (Dt t) in HD.
  assert (S1 : forall i j, corner t i -> corner t j -> left (V i) (V j) p = left (V i) (V j) q).
  { intros i j Hi Hj.
    assert (sg t * left (V i) (V j) p = sg t * left (V i) (V j) q) by (rewrite <- !side; auto; now rewrite E).
    destruct (sg_cases t) as [X|X]; rewrite X in H; lra. }
  destruct (bary (V (ci t)) (V (cj t)) (V (ck t)) p) as (_ & Y & X).
  destruct (bary (V (ci t)) (V (cj t)) (V (ck t)) q) as (_ & Y' & X').
  rewrite (S1 (ci t) (cj t)), (S1 (cj t) (ck t)), (S1 (ck t) (ci t)) in X, Y by (unfold corner; auto).
  unfold Dt in HD. destruct p as [px py], q as [qx qy]; simpl in *.
  f_equal; apply Rmult_eq_reg_l with (left (V (ci t)) (V (cj t)) (V (ck t))); try lra.
Qed.
Variable d : doc.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.
Theorem F_continuous : forall p, sheet d p -> forall eps, 0 < eps ->
     exists delta, 0 < delta /\ forall q, sheet d q -> ball p delta q -> ball (F p) eps (F q).
Proof.
  intros p Hp eps He. destruct (near p) as (e & Hpos & Hn). exists (Rmin e (eps / 2)). split; [apply Rmin_glb_lt; lra|].
  intros q Hq Hb. apply Hcover in Hq. destruct Hq as (t & Ht & Hc). unfold ball in *.
  assert (dist p q < e) by (eapply Rlt_le_trans; [exact Hb|apply Rmin_l]).
  assert (dist p q < eps / 2) by (eapply Rlt_le_trans; [exact Hb|apply Rmin_r]).
  rewrite (F_on t p), (F_on t q); auto; [|eapply Hn; eauto]. eapply Rle_lt_trans; [now apply Ft_lip|]. lra.
Qed.
(* if all triangles at p move alike, F is rigid near p: at inner points of triangles, of flat edges, at flat corners
   alike *)
Theorem F_rigid_near : forall p t, inside d p -> In t T -> closed (geo t) p ->
   (forall u, In u T -> closed (geo u) p -> forall q, Ft u q = Ft t q) -> shows F (sg t) p.
Proof.
  intros p t (e & He & Hin) Ht Hc Hs. destruct (near p) as (e' & He' & Hn). exists (Rmin e e').
  split; [now apply Rmin_glb_lt|].
  destruct (Ft_rigid t Ht) as (c & s & tx & ty & E & H). exists c, s, tx, ty. split; auto. intros q Hb.
  unfold ball in Hb.
  assert (Q : sheet d q). { apply Hin. unfold ball. eapply Rlt_le_trans; [exact Hb|apply Rmin_l]. }
  apply Hcover in Q. destruct Q as (u & Hu & Cu). rewrite (F_on u q), <- H; auto. apply Hs; auto. eapply Hn; eauto.
  unfold ball.
  eapply Rlt_le_trans; [exact Hb|apply Rmin_r].
Qed.
End Mesh.
