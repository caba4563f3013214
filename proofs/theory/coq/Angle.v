(* Cosines of rational multiples of pi by Chebyshev's recurrence; which root is the cosine, by signs.  The angle of a
   cosine is taken
   by the intermediate value theorem. *)
Require Import Reals QArith Qreals List Bool ZArith Lra Psatz Lia. Require Import Document Number MeshCheck Chain.
Import ListNotations.
Open Scope R_scope.
(* s_0, s_1, ..., s_(i+2) = 2 c s_(i+1) - s_i: the terms j and j + 1 *)
Fixpoint cheb (s0 s1 c : R) (j : nat) : R * R := match j with O => (s0, s1) | S i => let (a, b) :=
  cheb s0 s1 c i in (b, 2 * c * b - a) end.
Lemma cheb_cos : forall t j, cheb 1 (cos t) (cos t) j = (cos (INR j * t), cos (INR (S j) * t)).
Proof.
  intros t j. induction j as [|j IH].
  - simpl. rewrite Rmult_0_l, cos_0, Rmult_1_l. reflexivity.
  - cbn [cheb]. rewrite IH. f_equal. rewrite !S_INR. replace ((INR j + 1 + 1) * t) with ((INR j + 1) * t + t) by ring.
    replace (INR j * t) with ((INR j + 1) * t - t) by ring. rewrite cos_plus, cos_minus. ring.
Qed.
Lemma cheb_sin : forall t j, fst (cheb 1 (2 * cos t) (cos t) j) * sin t = sin (INR (S j) * t) /\
  snd (cheb 1 (2 * cos t) (cos t) j) * sin t = sin (INR (S (S j)) * t).
Proof.
  intros t j. induction j as [|j [A B]].
  - cbn [cheb fst snd]. rewrite !S_INR. simpl INR. split; [rewrite Rmult_1_l; f_equal; ring|].
    replace ((0 + 1 + 1) * t) with (2 * t) by ring. rewrite sin_2a. ring.
  - cbn [cheb]. destruct (cheb 1 (2 * cos t) (cos t) j) as [a b]. cbn [fst snd] in *. split; [exact B|].
    transitivity (2 * cos t * (b * sin t) - a * sin t); [ring|]. rewrite A, B.
    rewrite !S_INR. replace ((INR j + 1 + 1 + 1) * t) with ((INR j + 1 + 1) * t + t) by ring.
    replace ((INR j + 1) * t) with ((INR j + 1 + 1) * t - t) by ring. rewrite sin_plus, sin_minus. ring.
Qed.
Lemma cheb_large : forall c j, 1 < c -> 1 <= fst (cheb 1 c c j) <= snd (cheb 1 c c j).
Proof.
  intros c j H. induction j as [|j IH]; cbn [cheb fst snd]; [lra|]. destruct (cheb 1 c c j) as [a b].
  cbn [fst snd] in *. split; [lra|]. nra.
Qed.
Lemma angle_of : forall c, -1 <= c <= 1 -> exists t, 0 <= t <= PI /\ cos t = c.
Proof.
  intros c Hc. pose proof PI_RGT_0 as P.
  assert (Ct : continuity (fun x => cos x - c)) by (apply (continuity_minus cos (fun _ => c));
    [exact continuity_cos|apply continuity_const; intros x y; reflexivity]).
  destruct (IVT_cor (fun x => cos x - c) 0 PI Ct ltac:(lra)) as (t & Ht & E); [rewrite cos_0, cos_PI; nra|]. exists t.
  split; [exact Ht|lra].
Qed.
Theorem cosine_unique : forall c q, (1 <= q)%nat -> fst (cheb 1 c c q) = -1 ->
  (forall j, (j + 2 <= q)%nat -> 0 < fst (cheb 1 (2 * c) c j)) -> c = cos (PI / INR q).
Proof.
  intros c q Hq Ht Hu. pose proof PI_RGT_0 as Pi. destruct (Nat.eq_dec q 1) as [->|N1].
  { simpl in Ht. simpl. replace (PI / 1) with PI by field. rewrite cos_PI. exact Ht. }
  assert (Up : c <= 1) by (apply Rnot_lt_le; intro X; pose proof (cheb_large c q X); lra).
  assert (Lo : -1 <= c).
  { apply Rnot_lt_le. intro X. destruct (Nat.eq_dec q 2) as [->|N2]; [simpl in Ht; nra|].
    specialize (Hu 1%nat ltac:(lia)). simpl in Hu. lra. }
  destruct (angle_of c (conj Lo Up)) as (t & (T0 & T1) & <-). rewrite cheb_cos in Ht. cbn [fst] in Ht.
  assert (Nt : 0 < sin t).
  { apply sin_gt_0.
    - destruct T0 as [T0|T0]; auto. exfalso. rewrite <- T0, Rmult_0_r, cos_0 in Ht. lra.
    - destruct T1 as [T1|T1]; auto. exfalso. subst t. pose proof (Hu 0%nat ltac:(lia)) as H0.
      destruct (Nat.eq_dec q 2) as [->|N2].
      + simpl in Ht. replace ((1 + 1) * PI) with (2 * PI) in Ht by ring. rewrite cos_2PI in Ht. lra.
      + specialize (Hu 1%nat ltac:(lia)). simpl in Hu. rewrite cos_PI in Hu. lra. }
  assert (Tpos : 0 < t) by (destruct T0 as [T0|T0]; auto; rewrite <- T0, sin_0 in Nt; lra).
  assert (Small : forall k, (k < q)%nat -> INR k * t < PI).
  { induction k as [|k IH]; intro L; [simpl; lra|]. specialize (IH ltac:(lia)). destruct k as [|k].
    - simpl. rewrite Rmult_1_l. destruct T1 as [T1|T1]; auto. exfalso. rewrite T1, sin_PI in Nt. lra.
    - assert (Sn : 0 < sin (INR (S (S k)) * t)).
    { rewrite <- (proj1 (cheb_sin t (S k))). apply Rmult_lt_0_compat; auto. apply Hu. lia. }
      apply Rnot_le_lt. intro G. rewrite (S_INR (S k)) in Sn, G. set (x := INR (S k)) in *.
      assert (T2 : (x + 1) * t <= 2 * PI) by (assert (t <= PI) by lra; lra). pose proof (sin_le_0 ((x + 1) * t) G T2).
      lra. }
  assert (Iq : 0 < INR q) by (apply lt_0_INR; lia).
  assert (Last : INR q * t < 2 * PI).
  { pose proof (Small (q - 1)%nat ltac:(lia)) as X. rewrite minus_INR in X by lia. simpl in X.
    assert (t < PI) by (destruct T1 as [T1|T1]; auto; exfalso; rewrite T1, sin_PI in Nt; lra). lra. }
  assert (E : INR q * t = PI).
  { assert (P0 : 0 < INR q * t) by (now apply Rmult_lt_0_compat). set (x := INR q * t) in *.
    destruct (Rtotal_order x PI) as [L|[L|L]]; auto; exfalso.
    - pose proof (cos_decreasing_1 x PI ltac:(lra) ltac:(lra) ltac:(lra) ltac:(lra) L) as X. rewrite cos_PI in X. lra.
    - pose proof (cos_increasing_1 PI x ltac:(lra) ltac:(lra) ltac:(lra) ltac:(lra) L) as X. rewrite cos_PI in X. lra. }
  replace (PI / INR q) with t; auto. rewrite <- E. field. lra.
Qed.

Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)).
(* the same with numerators: term j has the denominator m ^ j; double = numerator of 2 c *)
Definition knext (double : K) (m : Z) (a b : K) : K := sub (mul n q double b) (scale (m * m) a).
Fixpoint kcheb (s0 s1 double : K) (m : Z) (j : nat) : K * K := match j with O => (s0, s1) | S i => let (a, b) :=
  kcheb s0 s1 double m i in (b, knext double m a b) end.
Fixpoint kpositive (a b double : K) (m : Z) (j : nat) : bool := match j with O => true | S i =>
  ispos (sgn E a) && kpositive b (knext double m a b) double m i end.
Definition is_cosine (k : K) (m : positive) (r : nat) : bool := let double := scale 2 k in
  Nat.leb 1 r && keq E (fst (kcheb [1%Z] k double (Zpos m) r)) [(- Z.pow (Zpos m) (Z.of_nat r))%Z] &&
    kpositive [1%Z] double double (Zpos m) (r - 1).
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 : R).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E).
Variables (k : K) (m : positive).
Notation M := (IZR (Zpos m)). Notation c := (val alpha k / M). Notation double := (scale 2 k).
Lemma M_pos : 0 < M. Proof. apply IZR_lt. reflexivity. Qed.
Lemma knext_ok : forall j a b x y, val alpha a = M ^ j * x -> val alpha b = M ^ S j * y ->
  val alpha (knext n q double (Zpos m) a b) = M ^ S (S j) * (2 * c * y - x).
Proof.
  intros j a b x y A B. unfold knext. rewrite val_sub, val_scale, mult_IZR, (val_mul n q alpha Hroot) by auto.
  rewrite val_scale, A, B. pose proof M_pos. simpl. field. lra.
Qed.
Lemma kcheb_ok : forall s0 s1 r0 r1 j, val alpha s0 = r0 -> val alpha s1 = M * r1 ->
  val alpha (fst (kcheb n q s0 s1 double (Zpos m) j)) = M ^ j * fst (cheb r0 r1 c j) /\
    val alpha (snd (kcheb n q s0 s1 double (Zpos m) j)) = M ^ S j * snd (cheb r0 r1 c j).
Proof.
  intros s0 s1 r0 r1 j H0 H1. induction j as [|j [A B]].
  - cbn [kcheb cheb fst snd]. rewrite H0, H1. simpl. split; ring.
  - cbn [kcheb cheb]. destruct (kcheb n q s0 s1 double (Zpos m) j) as [a b], (cheb r0 r1 c j) as [x y].
    cbn [fst snd] in *. split; [exact B|]. exact (knext_ok j a b x y A B).
Qed.
Lemma kpositive_ok : forall r s0 s1 r0 r1 i, val alpha s0 = r0 -> val alpha s1 = M * r1 ->
  kpositive n q E (fst (kcheb n q s0 s1 double (Zpos m) i)) (snd (kcheb n q s0 s1 double (Zpos m) i)) double (Zpos m) r
    = true ->
  forall j, (i <= j < i + r)%nat -> 0 < fst (cheb r0 r1 c j).
Proof.
  induction r as [|r IH]; intros s0 s1 r0 r1 i H0 H1 H j Hj; [lia|]. cbn [kpositive] in H. apply andb_true_iff in H.
  destruct H as [A B].
  destruct (Nat.eq_dec j i) as [->|N].
  - pose proof (sgn_ok alpha S0 HS E (fst (kcheb n q s0 s1 double (Zpos m) i)) HE) as G.
    rewrite (proj1 (kcheb_ok s0 s1 r0 r1 i H0 H1)) in G.
    destruct (sgn E _); try discriminate. pose proof (pow_lt M i M_pos). apply Rmult_lt_reg_l with (M ^ i); auto. lra.
  - apply (IH s0 s1 r0 r1 (S i) H0 H1); [|lia]. cbn [kcheb]. destruct (kcheb n q s0 s1 double (Zpos m) i) as [a b].
    exact B.
Qed.
Theorem is_cosine_ok : forall r, is_cosine n q E k m r = true -> c = cos (PI / INR r) /\ (0 < r)%nat /\
  forall p, val alpha (fst (kcheb n q [1%Z] k double (Zpos m) p)) / M ^ p = cos (INR p * (PI / INR r)).
Proof.
  intros r H. unfold is_cosine in H. cbv zeta in H. rewrite !andb_true_iff, Nat.leb_le in H.
  destruct H as ((H1 & H2) & H3).
  pose proof M_pos as P. assert (One : val alpha [1%Z] = 1) by (simpl; ring).
  assert (Vk : val alpha k = M * c) by (field; lra).
  assert (Vd : val alpha double = M * (2 * c)) by (rewrite val_scale; field; lra).
  assert (Pr : forall j, 0 < M ^ j) by (intro; now apply pow_lt).
  assert (Ec : c = cos (PI / INR r)).
  { apply cosine_unique; auto.
    - apply (keq_ok E alpha S0 HS HE) in H2. rewrite (proj1 (kcheb_ok [1%Z] k 1 c r One Vk)) in H2. simpl val in H2.
      rewrite opp_IZR, <- pow_IZR in H2. apply Rmult_eq_reg_l with (M ^ r); [|specialize (Pr r); lra]. lra.
    - intros j Hj. apply (kpositive_ok (r - 1) [1%Z] double 1 (2 * c) 0 One Vd); [exact H3|lia]. }
  split; [exact Ec|split; [lia|]]. intro p. rewrite (proj1 (kcheb_ok [1%Z] k 1 c p One Vk)). specialize (Pr p).
  replace (M ^ p * fst (cheb 1 c c p) / M ^ p) with (fst (cheb 1 c c p)) by (field; lra). rewrite Ec, cheb_cos.
  reflexivity.
Qed.
End Sound.
(* cos (N pi / r), by the remainder of |N| *)
Theorem cos_reduced : forall N (r : positive), cos (Q2R (N # r) * PI) = cos
  (INR (Z.to_nat (Z.abs N mod (2 * Zpos r))) * (PI / INR (Pos.to_nat r))).
Proof.
  intros N r. assert (R0 : 0 < IZR (Zpos r)) by (apply IZR_lt; reflexivity).
  assert (Abs : cos (Q2R (N # r) * PI) = cos (IZR (Z.abs N) * (PI / IZR (Zpos r)))).
  { unfold Q2R; cbn [Qnum Qden]. destruct (Z.abs_spec N) as [[_ ->]|[_ ->]].
    - f_equal. field. lra.
    - rewrite opp_IZR, <- cos_neg. f_equal. field. lra. }
  rewrite Abs. pose proof (Z.mod_pos_bound (Z.abs N) (2 * Zpos r) ltac:(lia)) as B.
  pose proof (Z.div_mod (Z.abs N) (2 * Zpos r) ltac:(lia)) as Dm.
  pose proof (Z.div_pos (Z.abs N) (2 * Zpos r) ltac:(lia) ltac:(lia)) as Dp.
  set (p := (Z.abs N mod (2 * Zpos r))%Z) in *. set (t := (Z.abs N / (2 * Zpos r))%Z) in *.
  rewrite Dm, plus_IZR, !mult_IZR.
  rewrite INR_IZR_INZ, Z2Nat.id by lia. rewrite (INR_IZR_INZ (Pos.to_nat r)), positive_nat_Z.
  rewrite <- (cos_period (IZR p * (PI / IZR (Z.pos r))) (Z.to_nat t)). f_equal. rewrite INR_IZR_INZ, Z2Nat.id by lia.
  field. lra.
Qed.
