(* Paper does not jump, with discs: two plain pieces of paper over one another, each open and convex, keep their order
   all over the common part of their images. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Unique Closure Inside FoldMapUnique NoCut Generic.
Import ListNotations.
Open Scope R_scope.
Lemma rig_back : forall g c s tx ty x u, (g = 1 \/ g = -1) -> c * c + s * s = 1 ->
  dist u x <= 2 * dist (rig g c s tx ty u) (rig g c s tx ty x).
Proof.
  intros g c s tx ty x u Hg E. assert (G : g * g = 1) by (destruct Hg as [-> | ->]; ring).
  unfold rig, dist; cbn [fst snd].
  set (p := fst u - fst x). set (r := snd u - snd x).
  set (a := tx + c * fst u - g * s * snd u - (tx + c * fst x - g * s * snd x)).
  set (b := ty + s * fst u + g * c * snd u - (ty + s * fst x + g * c * snd x)).
  assert (Ep : p = c * a + s * b).
  { unfold a, b. transitivity ((c * c + s * s) * p); [rewrite E; ring|unfold p; ring]. }
  assert (Er : r = g * (c * b - s * a)).
  { unfold a, b. transitivity ((g * g) * (c * c + s * s) * r); [rewrite E, G; ring|unfold r; ring]. }
  set (m := Rmax (Rabs a) (Rabs b)). assert (Ma : Rabs a <= m) by apply Rmax_l.
  assert (Mb : Rabs b <= m) by apply Rmax_r.
  assert (Bd : forall k, k * k <= 1 -> Rabs k <= 1) by (intros k Hk; apply Rabs_le; nra).
  assert (Hc : Rabs c <= 1) by (apply Bd; nra). assert (Hs : Rabs s <= 1) by (apply Bd; nra).
  assert (Ag : Rabs g = 1) by (destruct Hg as [-> | ->]; unfold Rabs; destruct Rcase_abs; lra). pose proof (Rabs_pos a).
  pose proof (Rabs_pos b). pose proof (Rabs_pos c). pose proof (Rabs_pos s).
  apply Rmax_lub; [rewrite Ep|rewrite Er, Rabs_mult, Ag, Rmult_1_l; unfold Rminus];
    (eapply Rle_trans; [apply Rabs_triang|]); rewrite ?Rabs_Ropp, !Rabs_mult; nra.
Qed.
Section Disc.
Variables (d : doc) (F : pt -> pt) (above : pt -> pt -> Prop) (N : list line) (Z : list pt).
Hypothesis LO : layer_order_with d F above N Z.
(* an open convex piece of plain paper, which F moves rigidly *)
Definition piece (U : pt -> Prop) := (forall p, U p -> exists e, 0 < e /\ forall r, ball p e r -> U r) /\
  (forall a b t, U a -> U b -> 0 <= t <= 1 -> U (mid a b t)) /\ (forall p, U p -> plain d p) /\
  exists g, (g = 1 \/ g = -1) /\ rigid F g U.
Definition at_ (U : pt -> Prop) p := exists x, U x /\ F x = p.
Lemma piece_back : forall U x u, piece U -> U x -> U u -> dist u x <= 2 * dist (F u) (F x).
Proof.
  intros U x u (_ & _ & _ & g & Hg & c & s & tx & ty & E & H) Hx Hu. rewrite (H x Hx), (H u Hu).
  exact (rig_back g c s tx ty x u Hg E).
Qed.
Lemma piece_one : forall U x u, piece U -> U x -> U u -> F x = F u -> x = u.
Proof.
  intros U x u (_ & _ & _ & g & Hg & c & s & tx & ty & E & H) Hx Hu Q. rewrite (H x Hx), (H u Hu) in Q.
  exact (rig_inj g c s tx ty x u Hg E Q).
Qed.
Lemma at_open : forall U p, piece U -> at_ U p -> exists e, 0 < e /\ forall r, ball p e r -> at_ U r.
Proof.
  intros U p Pc (x & Hx & <-). pose proof Pc as (Op & _ & _ & g & Hg & c & s & tx & ty & E & H).
  destruct (Op x Hx) as (e & He & B). exists (e / 2). split; [lra|]. intros r Hr.
  destruct (rig_onto g c s tx ty Hg E r) as (y & Ey).
  assert (Hy : U y).
  { apply B. unfold ball in *. pose proof (rig_back g c s tx ty y x Hg E) as L. rewrite Ey in L. rewrite (H x Hx) in Hr.
    unfold rig in L at 1. lra. }
  exists y. split; [exact Hy|]. rewrite (H y Hy). exact Ey.
Qed.
Lemma at_convex : forall U a b t, piece U -> at_ U a -> at_ U b -> 0 <= t <= 1 -> at_ U (mid a b t).
Proof.
  intros U a b t (_ & Cv & _ & g & Hg & c & s & tx & ty & E & H) (x & Hx & <-) (y & Hy & <-) Ht. exists (mid x y t).
  split; [now apply Cv|]. rewrite (H x Hx), (H y Hy), (H _ (Cv x y t Hx Hy Ht)). exact (rig_mid g c s tx ty x y t).
Qed.
Theorem order_on_discs : forall U W, piece U -> piece W -> (forall p, U p -> W p -> False) -> forall x y x' y', U x ->
  W y -> F x = F y -> U x' -> W y' -> F x' = F y' ->
  off N (F x) -> off N (F x') -> ~ In (F x) Z -> ~ In (F x') Z -> (above x y <-> above x' y').
Proof.
  intros U W PU PW Dis x y x' y' Hx Hy E Hx' Hy' E' O O' NZ NZ'.
  set (R := fun p => exists x y, U x /\ W y /\ F x = p /\ F y = p /\ above x y).
  assert (RI : forall x y p, U x -> W y -> F x = p -> F y = p -> (R p <-> above x y)).
  { intros u v p Hu Hv Eu Ev. split; [|intro A; exists u, v; auto]. intros (u' & v' & Hu' & Hv' & Eu' & Ev' & A).
    now rewrite (piece_one U u u' PU Hu Hu'), (piece_one W v v' PW Hv Hv') by congruence. }
  assert (Me : forall u v, U u -> W v -> F u = F v -> meet d F u v).
  { intros u v Hu Hv Q. pose proof PU as (_ & _ & Pu & _). pose proof PW as (_ & _ & Pw & _).
    repeat split; auto; [exact (Cut.inside_sheet d u (proj1 (Pu u Hu)))|exact
      (Cut.inside_sheet d v (proj1 (Pw v Hv)))|intros ->; exact (Dis v Hu Hv)]. }
  rewrite <- (RI x y (F x)), <- (RI x' y' (F x')) by auto.
  apply (constant_on (fun p => at_ U p /\ at_ W p) R N Z); auto.
  - intros q (A & B). destruct (at_open U q PU A) as (e & He & H), (at_open W q PW B) as (e' & He' & H').
    exists (Rmin e e'). split; [now apply Rmin_glb_lt|]. unfold ball in *. intros r Hr.
    split; [apply H|apply H']; (eapply Rlt_le_trans; [exact Hr|first [apply Rmin_l|apply Rmin_r]]).
  - intros a b t (A & B) (A' & B') Ht. split; now apply at_convex.
  - exact (lo_N d F above N Z LO).
  - intros q ((u & Hu & Eu) & (v & Hv & Ev)) Fq. rewrite (RI u v q) by auto.
    pose proof (lo_A d F above N Z LO u v (Me u v Hu Hv ltac:(congruence))) as A. rewrite Eu in A. specialize (A Fq).
    tauto.
  - intros p ((u & Hu & Eu) & (v & Hv & Ev)) Np. pose proof PU as (_ & _ & Pu & _). pose proof PW as (_ & _ & Pw & _).
    destruct (lo_C d F above N Z LO u v (Me u v Hu Hv ltac:(congruence)) (Pu u Hu) (Pw v Hv)) as (e & He & C);
      [now rewrite Eu|].
    exists (e / 2). split; [lra|].
    intros q r Bq Br ((a & Ha & Ea) & (b & Hb & Eb)) ((a' & Ha' & Ea') & (b' & Hb' & Eb')) Fq Fr.
    rewrite (RI a b q), (RI a' b' r) by auto. unfold ball in *.
    apply C; unfold ball; try (apply Me; auto; congruence); try (rewrite ?Ea, ?Ea'; assumption).
    + pose proof (piece_back U a u PU Ha Hu) as L. rewrite Ea, Eu in L. lra.
    + pose proof (piece_back W b v PW Hb Hv) as L. rewrite Eb, Ev in L. lra.
    + pose proof (piece_back U a' u PU Ha' Hu) as L. rewrite Ea', Eu in L. lra.
    + pose proof (piece_back W b' v PW Hb' Hv) as L. rewrite Eb', Ev in L. lra.
  - split; [exists x|exists y]; auto. - split; [exists x'|exists y']; auto.
Qed.
End Disc.
