(* Exact numbers without fractions, gcd or irreducibility: Z[alpha], p monic over Z, alpha a root of p in an interval.
   sign is three-valued and sound: zero only if all coefficients are 0; positive/negative only by an enclosure;
   else undecided. *)
Require Import Reals List Bool ZArith Lra Psatz Lia.
Import ListNotations.
Open Scope R_scope.

Definition K := list Z.                                    (* c0 + c1 alpha + ... *)
Fixpoint add (a b : K) : K := match a, b with [], _ => b | _, [] => a | x :: a', y :: b' => (x + y)%Z :: add a' b' end.
Fixpoint scale (c : Z) (b : K) : K := match b with [] => [] | x :: b' => (c * x)%Z :: scale c b' end.
Definition neg (b : K) : K := scale (-1) b.
Definition sub (a b : K) : K := add a (neg b).
Section Ring.
Variables (n : nat) (q : K).                               (* alpha^n = q(alpha) *)
Definition mulx (s : K) : K := if Nat.eqb (length s) n then add (0%Z :: removelast s) (scale (last s 0%Z) q) else 0%Z ::
  s.
Fixpoint mul (a b : K) : K := match a with [] => [] | [c] => scale c b | c :: a' =>
  add (scale c b) (mulx (mul a' b)) end.
End Ring.
(* sign from enclosures lo_i <= S alpha^i <= hi_i *)
Fixpoint encl (l : K) (E : list (Z * Z)) : option (Z * Z) :=
  match l, E with
  | [], _ => Some (0, 0)%Z
  | c :: l', (lo, hi) :: E' => match encl l' E' with
       | Some (a, b) => Some (if (0 <=? c)%Z then (c * lo + a, c * hi + b)%Z else (c * hi + a, c * lo + b)%Z) | None =>
         None end
  | _ :: _, [] => None end.
Inductive sign := Pos | Neg | Zero | Unknown.
Definition sgn (E : list (Z * Z)) (l : K) : sign :=
  if forallb (Z.eqb 0) l then Zero else
  match encl l E with Some (a, b) => if (0 <? a)%Z then Pos else if (b <? 0)%Z then Neg else Unknown | None =>
    Unknown end.

Section Val.
Variables (n : nat) (q : K) (alpha : R).
Fixpoint val (l : K) : R := match l with [] => 0 | c :: r => IZR c + alpha * val r end.
Hypothesis Hroot : alpha ^ n = val q.
Lemma val_add : forall a b, val (add a b) = val a + val b.
Proof. induction a as [|x a IH]; intros [|y b]; simpl; try lra. rewrite plus_IZR, IH. ring. Qed.
Lemma val_scale : forall c b, val (scale c b) = IZR c * val b.
Proof. induction b as [|x b IH]; simpl; [ring|]. rewrite mult_IZR, IH. ring. Qed.
Lemma val_sub : forall a b, val (sub a b) = val a - val b.
Proof. intros. unfold sub, neg. rewrite val_add, val_scale. simpl. ring. Qed.
Lemma val_last : forall s, s <> [] -> val s = val (removelast s) + IZR (last s 0%Z) * alpha ^ (length s - 1).
Proof.
  induction s as [|c s IH]; intro H; [congruence|]. destruct s as [|e s]; [simpl; ring|].
  assert (X := IH ltac:(congruence)). clear IH.
  change (val (c :: e :: s)) with (IZR c + alpha * val (e :: s)). rewrite X. clear X.
  change (val (removelast (c :: e :: s))) with (IZR c + alpha * val (removelast (e :: s))).
  change (last (c :: e :: s) 0%Z) with (last (e :: s) 0%Z).
  replace (length (c :: e :: s) - 1)%nat with (S (length (e :: s) - 1)) by (simpl; lia). rewrite <- tech_pow_Rmult.
  ring.
Qed.
Lemma val_mulx : forall s, (0 < n)%nat -> val (mulx n q s) = alpha * val s.
Proof.
  intros s Hn. unfold mulx. destruct (Nat.eqb_spec (length s) n) as [E|E]; [|simpl; ring].
  rewrite val_add, val_scale, <- Hroot. simpl val at 1.
  rewrite (val_last s) by (destruct s; simpl in *; [lia|congruence]).
  rewrite E. replace (alpha ^ n) with (alpha * alpha ^ (n - 1)); [ring|]. replace n with (S (n - 1)) at 2 by lia.
  reflexivity.
Qed.
Lemma val_mul : forall a b, (0 < n)%nat -> val (mul n q a b) = val a * val b.
Proof.
  intros a b Hn. induction a as [|c a IH]; [simpl; ring|]. simpl mul.
  destruct a as [|e a]; [rewrite val_scale; simpl; ring|].
  rewrite val_add, val_scale, val_mulx, IH by auto. simpl. ring.
Qed.
Variable S0 : R. Hypothesis HS : 0 < S0.
Fixpoint enc_ok (k : nat) (E : list (Z * Z)) : Prop := match E with [] => True | (lo, hi) :: E' =>
  IZR lo <= S0 * alpha ^ k <= IZR hi /\ enc_ok (S k) E' end.
Lemma encl_ok : forall l E k a b, enc_ok k E -> encl l E = Some (a, b) -> IZR a <= S0 * (alpha ^ k * val l) <= IZR b.
Proof.
  induction l as [|c l IH]; intros E k a b HE H.
  - simpl in H. injection H as <- <-. simpl. lra.
  - destruct E as [|[lo hi] E]; [discriminate|]. simpl in H. destruct (encl l E) as [[a' b']|] eqn:G; [|discriminate].
    destruct HE as [B HE].
    specialize (IH E (S k) a' b' HE G).
    replace (S0 * (alpha ^ k * val (c :: l))) with (IZR c * (S0 * alpha ^ k) + S0 * (alpha ^ S k * val l)) by (simpl;
      ring).
    destruct (Z.leb_spec 0 c); injection H as <- <-; rewrite !plus_IZR, !mult_IZR.
    + apply IZR_le in H0. nra.
    + apply IZR_lt in H0. nra.
Qed.
Theorem sgn_ok : forall E l, enc_ok 0 E -> match sgn E l with Pos => 0 < val l | Neg => val l < 0 | Zero =>
  val l = 0 | Unknown => True end.
Proof.
  intros E l HE. unfold sgn. destruct (forallb (Z.eqb 0) l) eqn:Z0.
  - clear - Z0. induction l as [|c l IH]; auto. cbn [forallb val] in *. apply andb_true_iff in Z0. destruct Z0 as [A B].
    apply Z.eqb_eq in A. subst c. rewrite IH; auto. ring.
  - destruct (encl l E) as [[a b]|] eqn:G; auto. pose proof (encl_ok l E 0 a b HE G) as X. simpl in X.
    rewrite Rmult_1_l in X.
    destruct (Z.ltb_spec 0 a) as [L|L]; [apply IZR_lt in L; nra|]. destruct (Z.ltb_spec b 0) as [M|M]; auto.
    apply IZR_lt in M. nra.
Qed.
(* enclosures of the powers, one from the last: computed or proposed, checked by products *)
Definition mul_in (x y : Z * Z) (z : Z * Z) (s : Z) := let '(a, b) := x in let '(c, d) := y in let '(lo, hi) := z in
  forallb (fun v => (s * lo <=? v)%Z && (v <=? s * hi)%Z) [(a * c)%Z; (a * d)%Z; (b * c)%Z; (b * d)%Z].
Lemma mul_in_ok : forall a b c d lo hi s u v, 0 < IZR s -> mul_in (a, b) (c, d) (lo, hi) s = true ->
  IZR a <= u <= IZR b -> IZR c <= v <= IZR d ->
   IZR s * IZR lo <= u * v <= IZR s * IZR hi.
Proof.
  intros a b c d lo hi s u v Hs H Hu Hv. unfold mul_in in H. simpl in H. rewrite !andb_true_iff, !Z.leb_le in H.
  destruct H as ((H1&H1')&(H2&H2')&(H3&H3')&(H4&H4')&_). apply IZR_le in H1, H1', H2, H2', H3, H3', H4, H4'.
  rewrite !mult_IZR in *.
  set (A := IZR a) in *. set (B := IZR b) in *. set (C := IZR c) in *. set (D := IZR d) in *.
  set (Lo := IZR s * IZR lo) in *. set (Hi := IZR s * IZR hi) in *. clearbody A B C D Lo Hi.
  assert (Lin : forall x, A <= x <= B -> forall m, (m = C \/ m = D) -> Lo <= x * m <= Hi).
  { intros x Hx m [-> | ->]; [destruct (Rle_dec 0 C)|destruct (Rle_dec 0 D)]; split; nra. }
  pose proof (Lin u Hu C (or_introl eq_refl)). pose proof (Lin u Hu D (or_intror eq_refl)).
  destruct (Rle_dec 0 u); split; nra.
Qed.
End Val.
(* a root exists: change of sign, intermediate value theorem *)
Lemma val_cont : forall l, continuity (fun x => val x l).
Proof.
  induction l as [|c l IH]; simpl.
  - apply continuity_const. intros x y. reflexivity.
  - apply (continuity_plus (fun _ => IZR c) (fun x => x * val x l)); [apply continuity_const; intros x y; reflexivity|].
    apply (continuity_mult (fun x => x) (fun x => val x l)); auto. apply derivable_continuous, derivable_id.
Qed.
Theorem root_ex : forall p lo hi, lo <= hi -> val lo p * val hi p <= 0 ->
  exists alpha, lo <= alpha <= hi /\ val alpha p = 0.
Proof. intros p lo hi H S. destruct (IVT_cor (fun x => val x p) lo hi (val_cont p) H S) as (z & A & B). eauto. Qed.
