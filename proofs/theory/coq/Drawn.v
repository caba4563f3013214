(* Drawn lines that run along edges of triangles: what else of the triangles they meet. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Edge Top FoldCheck. Require Chain.
Import ListNotations.
Open Scope R_scope.
Section Drawn.
Variables (V : nat -> pt) (T : list tr) (d : doc) (L : list (nat * nat)) (X : pt -> Prop).
Notation geo := (geo V).
Hypothesis M : mesh V T d.
Notation Ccw := (m_ccw V T d M).
(* each point of X is on an edge of L, which is an edge of a triangle *)
Hypothesis HX : forall p, X p -> exists x y u m, In (x, y) L /\ In u T /\ corner u x /\ corner u y /\ V x <> V y /\
  0 <= m <= 1 /\ p = mid (V x) (V y) m.
Lemma corner_closed : forall u x, In u T -> corner u x -> closed (geo u) (V x).
Proof.
  intros u x Hu Ux. pose proof (Ccw u Hu) as H. unfold ccw, closed, Paste.geo in *.
  destruct Ux as [-> | [-> | ->]]; unfold left in *; lra.
Qed.
Lemma edge_closed : forall u x y m, In u T -> corner u x -> corner u y -> 0 <= m <= 1 ->
  closed (geo u) (mid (V x) (V y) m).
Proof.
  intros u x y m Hu Ux Uy Hm.
  destruct (corner_closed u x Hu Ux) as (A1 & A2 & A3), (corner_closed u y Hu Uy) as (B1 & B2 & B3).
  unfold closed, Paste.geo. rewrite !left_mid. repeat split; nra.
Qed.
Lemma off_drawn : forall t p, In t T -> open (geo t) p -> ~ X p.
Proof.
  intros t p Ht O Hf. destruct (HX p Hf) as (x & y & u & m & _ & Hu & Ux & Uy & Nxy & Hm & ->).
  pose proof (edge_closed u x y m Hu Ux Uy Hm) as C.
  rewrite (m_P1 V T d M t u _ Ht Hu O C) in O. assert (D' : x <> y) by (intros ->; apply Nxy; reflexivity).
  destruct (edge_side V T u x y Hu Ux Uy D') as (s & _ & _ & P). specialize (P _ O). rewrite left_ends in P. lra.
Qed.
(* the third corner is off the line of the other two *)
Lemma third_off : forall u i j z, In u T -> corner u i -> corner u j -> corner u z -> i <> j -> z <> i -> z <> j ->
  left (V i) (V j) (V z) <> 0.
Proof.
  intros u i j z Hu Ui Uj Uz Nij Zi Zj. pose proof (Ccw u Hu) as HC. unfold ccw, Paste.geo in HC.
  destruct Ui as [-> | [-> | ->]], Uj as [-> | [-> | ->]], Uz as [-> | [-> | ->]]; try congruence; unfold left in *;
    lra.
Qed.
(* a line of X that passes an inner point of an edge runs along the edge *)
Lemma along_drawn : forall t i j l, In t T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
  X (mid (V i) (V j) l) -> edge_in i j L = true.
Proof.
  intros t i j l Ht Hi Hj Nij Hl Hf. destruct (HX _ Hf) as (x & y & u & m & If & Hu & Ux & Uy & Nxy & Hm & Ep).
  assert (Cu : closed (geo u) (mid (V i) (V j) l)) by (rewrite Ep; now apply edge_closed).
  destruct (m_P2 V T d M t u i j l Ht Hu Hi Hj Nij Hl Cu) as (Ui & Uj).
  assert (NV : V i <> V j) by (apply (V_ne V T Ccw t); auto).
  assert (P0 : left (V i) (V j) (mid (V x) (V y) m) = 0) by (rewrite <- Ep; apply left_ends). rewrite left_mid in P0.
  assert (Ends : forall z, z = i \/ z = j -> left (V i) (V j) (V z) = 0) by (intros z [-> | ->]; unfold left; ring).
  assert (Not : forall z, z = i \/ z = j -> mid (V i) (V j) l <> V z).
  { intros z Hz Q. apply NV. unfold mid in Q. destruct (V i) as [ix iy] eqn:Ei, (V j) as [jx jy] eqn:Ej.
    cbn [fst snd] in Q.
    assert (Q' : V z = (ix, iy) \/ V z = (jx, jy)) by (destruct Hz as [-> | ->]; auto).
    destruct Q' as [Q'|Q']; rewrite Q' in Q; injection Q as Qx Qy; f_equal; nra. }
  assert (Nx : x <> y) by (intros ->; apply Nxy; reflexivity).
  assert (A : x = i \/ x = j).
  { destruct (Nat.eq_dec x i) as [|n0]; auto. destruct (Nat.eq_dec x j) as [|n1]; auto. exfalso.
    pose proof (third_off u i j x Hu Ui Uj Ux Nij n0 n1) as O.
    assert (Y : y = i \/ y = j).
    { destruct Ui as [-> | [-> | ->]], Uj as [-> | [-> | ->]], Ux as [-> | [-> | ->]], Uy as [-> | [-> | ->]];
        try congruence; auto. }
    rewrite (Ends y Y), Rmult_0_r, Rplus_0_r in P0. apply Rmult_integral in P0.
    destruct P0 as [P0|P0]; [|contradiction]. apply (Not y Y). rewrite Ep. replace m with 1 by lra. apply Chain.mid_1. }
  assert (B : y = i \/ y = j).
  { destruct (Nat.eq_dec y i) as [|n0]; auto. destruct (Nat.eq_dec y j) as [|n1]; auto. exfalso.
    pose proof (third_off u i j y Hu Ui Uj Uy Nij n0 n1) as O.
    rewrite (Ends x A), Rmult_0_r, Rplus_0_l in P0. apply Rmult_integral in P0.
    destruct P0 as [P0|P0]; [|contradiction]. apply (Not x A). rewrite Ep, P0. apply Chain.mid_0. }
  apply edge_in_yes. destruct A as [-> | ->], B as [-> | ->]; try congruence; auto.
Qed.
(* a corner in X is an end of an edge of L *)
Lemma corner_drawn : forall t v, In t T -> corner t v -> X (V v) -> vertex_in v L = true.
Proof.
  intros t v Ht Hv H. destruct (HX _ H) as (x & y & u & m & If & Hu & Ux & Uy & Nxy & Hm & Ep).
  assert (Uv : corner u v) by (apply (m_P3 V T d M t); auto; rewrite Ep; now apply edge_closed).
  assert (Nx : x <> y) by (intros ->; apply Nxy; reflexivity).
  unfold vertex_in. apply existsb_exists. exists (x, y). split; [exact If|]. cbn [fst snd]. apply orb_true_iff.
  rewrite !Nat.eqb_eq.
  destruct (Nat.eq_dec v x) as [|n0]; auto. destruct (Nat.eq_dec v y) as [|n1]; auto. exfalso.
  apply (third_off u x y v Hu Ux Uy Uv Nx n0 n1). rewrite Ep. apply left_ends.
Qed.
End Drawn.
