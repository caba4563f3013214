(* The number field of a certificate: a root of a monic polynomial in an interval, and enclosures of its powers, checked
   by integers. *)
Require Import Reals List Bool ZArith Lra Psatz Lia. Require Import Number.
Import ListNotations.
Open Scope R_scope.
(* alpha ^ degree = red(alpha); scale * alpha ^ k lies between the k-th two integers *)
Record field := Field { degree : nat; red : K; scaled : positive; powers : list (Z * Z) }.
(* of a polynomial the value at a/m, times m ^ length; and that power *)
Fixpoint hom (l : K) (a m : Z) : Z * Z := match l with
  | [] => (0, 1)%Z
  | c :: r => let (v, p) := hom r a m in (c * (m * p) + a * v, m * p)%Z end.
Lemma hom_ok : forall l a m, (0 < m)%Z -> IZR (fst (hom l a m)) = IZR (snd (hom l a m)) * val (IZR a / IZR m) l /\
  0 < IZR (snd (hom l a m)).
Proof.
  intros l a m Hm. apply IZR_lt in Hm. induction l as [|c r IH]; simpl; [lra|]. destruct (hom r a m) as [v p].
  simpl in *. destruct IH as [A B].
  rewrite plus_IZR, !mult_IZR, A. split; [field; lra|]. now apply Rmult_lt_0_compat.
Qed.
Fixpoint powers_ok (s : Z) (one : Z * Z) (l : list (Z * Z)) : bool := match l with
  | x :: (y :: _) as r => mul_in x one y s && powers_ok s one r
  | _ => true end.
Definition monic (f : field) : K := sub (repeat 0%Z (degree f) ++ [1%Z]) (red f).
Definition field_ok (f : field) : bool := let s := Zpos (scaled f) in match degree f, powers f with
  | 1%nat, [(l, h)] => (l =? s)%Z && (h =? s)%Z && Nat.leb (length (red f)) 1
  | S (S _), (l, h) :: ((lo, hi) :: _) as r => (l =? s)%Z && (h =? s)%Z && (lo <=? hi)%Z &&
      (fst (hom (monic f) lo s) * fst (hom (monic f) hi s) <=? 0)%Z && powers_ok s (lo, hi) r
  | _, _ => false end.
Notation size f := (IZR (Zpos (scaled f))).
Lemma size_pos : forall f, 0 < size f. Proof. intro f. apply IZR_lt. reflexivity. Qed.
Lemma val_monic : forall f x, val x (monic f) = x ^ degree f - val x (red f).
Proof.
  intros f x. unfold monic. rewrite val_sub. f_equal. induction (degree f) as [|n IH]; simpl; [ring|]. rewrite IH. ring.
Qed.
Lemma powers_enc : forall l f alpha one k, powers_ok (Zpos (scaled f)) one l = true ->
  IZR (fst one) <= size f * alpha <= IZR (snd one) ->
  (forall x, hd_error l = Some x -> IZR (fst x) <= size f * alpha ^ k <= IZR (snd x)) -> enc_ok alpha (size f) k l.
Proof.
  induction l as [|[a b] l IH]; intros f alpha [c d] k H H1 Hk; simpl; auto. pose proof (Hk (a, b) eq_refl) as Hx.
  cbn [fst snd] in *. split; [exact Hx|].
  destruct l as [|[lo hi] l]; [exact I|].
  change (mul_in (a, b) (c, d) (lo, hi) (Zpos (scaled f)) && powers_ok (Zpos (scaled f)) (c, d) ((lo, hi) :: l) = true)
    in H.
  apply andb_true_iff in H. destruct H as [H2 H3].
  apply (IH f alpha (c, d) (S k)); auto. intros x E. injection E as <-. cbn [fst snd].
  pose proof (mul_in_ok a b c d lo hi (Zpos (scaled f)) _ _ (size_pos f) H2 Hx H1) as G. pose proof (size_pos f) as P.
  replace (size f * alpha ^ k * (size f * alpha)) with (size f * (size f * alpha ^ S k)) in G by (simpl; ring).
  destruct G as [G1 G2]. split; [apply Rmult_le_reg_l with (size f)|apply Rmult_le_reg_l with (size f)]; auto.
Qed.
Theorem field_sound : forall f, field_ok f = true -> (0 < degree f)%nat /\ exists alpha,
  alpha ^ degree f = val alpha (red f) /\ enc_ok alpha (size f) 0 (powers f).
Proof.
  intros [n q s E] H. unfold field_ok in H. cbn [degree red scaled powers] in *.
  destruct n as [|[|n]]; [discriminate| |].
  - destruct E as [|[l h] [|]]; try discriminate. rewrite !andb_true_iff, !Z.eqb_eq, Nat.leb_le in H.
    destruct H as ((-> & ->) & L). split; [lia|]. exists (val 0 q). split.
    + destruct q as [|c [|]]; simpl in *; [ring|ring|lia].
    + simpl. split; [lra|exact I].
  - destruct E as [|[l h] [|[lo hi] E]]; try discriminate. cbv zeta in H.
    rewrite !andb_true_iff, !Z.eqb_eq, !Z.leb_le in H. destruct H as ((((-> & ->) & L) & Sg) & P). split; [lia|].
    set (f := Field (S (S n)) q s ((Z.pos s, Z.pos s) :: (lo, hi) :: E)) in *. pose proof (size_pos f) as Ps.
    cbn [scaled f] in Ps.
    destruct (hom_ok (monic f) lo (Z.pos s) eq_refl) as [A1 A2].
    destruct (hom_ok (monic f) hi (Z.pos s) eq_refl) as [B1 B2].
    apply IZR_le in Sg. rewrite mult_IZR, A1, B1 in Sg. apply IZR_le in L.
    assert (Sg' : val (IZR lo / IZR (Z.pos s)) (monic f) * val (IZR hi / IZR (Z.pos s)) (monic f) <= 0).
    { set (x := val _ _) in *. set (y := val (IZR hi / _) _) in *. set (a := IZR (snd (hom _ lo _))) in *.
      set (b := IZR (snd (hom _ hi _))) in *. clearbody x y a b.
      assert (0 < a * b) by (now apply Rmult_lt_0_compat).
      replace (a * x * (b * y)) with ((a * b) * (x * y)) in Sg by ring. apply Rnot_lt_le. intro.
      assert (0 < (a * b) * (x * y)) by (now apply Rmult_lt_0_compat). lra. }
    destruct (root_ex (monic f) (IZR lo / IZR (Z.pos s)) (IZR hi / IZR (Z.pos s))) as (alpha & (C1 & C2) & C3); auto.
    { apply Rmult_le_compat_r; auto. left. now apply Rinv_0_lt_compat. }
    exists alpha. rewrite val_monic in C3. cbn [degree red f] in C3. split; [lra|].
    assert (B : IZR lo <= IZR (Z.pos s) * alpha <= IZR hi).
    { split.
      - replace (IZR lo) with (IZR (Z.pos s) * (IZR lo / IZR (Z.pos s))) by (field; lra). apply Rmult_le_compat_l; lra.
      - replace (IZR hi) with (IZR (Z.pos s) * (IZR hi / IZR (Z.pos s))) by (field; lra). apply Rmult_le_compat_l;
          lra. }
    change (IZR (Z.pos s) <= IZR (Z.pos s) * alpha ^ 0 <= IZR (Z.pos s) /\ enc_ok alpha (size f) 1 ((lo, hi) :: E)).
    split; [simpl; lra|].
    apply (powers_enc _ f alpha (lo, hi) 1); auto. intros x Q. injection Q as <-. cbn [fst snd scaled f]. rewrite pow_1.
    exact B.
Qed.
