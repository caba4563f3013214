(* Numbers as they are written, computed in the field: roots and reciprocals are proposed, and checked. *)
Require Import Reals QArith Qreals List Bool ZArith Lra Psatz Lia.
Require Import Statement Document Cross Cover Paste Number MeshCheck Chain LayerCheck Angle.
Import ListNotations.
Open Scope R_scope.
Definition frac := (K * positive)%type.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (known : expr -> option frac).
Notation mul := (mul n q).
Definition fadd (a b : frac) : frac := (add (scale (Zpos (snd b)) (fst a)) (scale (Zpos (snd a)) (fst b)),
  (snd a * snd b)%positive).
Definition fneg (a : frac) : frac := (neg (fst a), snd a).
Definition fmul (a b : frac) : frac := (mul (fst a) (fst b), (snd a * snd b)%positive).
Definition feq (a b : frac) : bool := keq E (scale (Zpos (snd b)) (fst a)) (scale (Zpos (snd a)) (fst b)).
Definition one : frac := ([1%Z], 1%positive).
(* 1/b: of a rational number by itself, else proposed *)
Definition reciprocal (e : expr) (b : frac) : option frac := match fst b with
  | c :: r => if forallb (Z.eqb 0) r then match c with Zpos c => Some ([Zpos (snd b)], c) | Zneg c =>
    Some ([Zneg (snd b)], c) | Z0 => None end
              else match known (Over (Lit 1) e) with Some x => if feq (fmul x b) one then Some x else None | None =>
                None end
  | [] => None end.
(* cos (r pi) *)
Definition cosine (r : Q) : option frac := let s := Qred r in let d := Qden s in match known (Cos (1 # d)) with
  | Some (k, m) => if is_cosine n q E k m (Pos.to_nat d) then let p := Z.abs (Qnum s) mod (2 * Zpos d) in
      Some (scale (Zpos m) (fst (kcheb n q [1%Z] k (scale 2 k) (Zpos m) (Z.to_nat p))), Pos.pow m (Z.to_pos (p + 1)))
    else None
  | None => None end%Z.
Definition turn (r : Q) : Q := let s := Qred r in Qnum s mod (2 * Zpos (Qden s)) # Qden s.
Fixpoint eval (e : expr) : option frac := match e with
  | Lit x => Some ([Qnum x], Qden x)
  | Plus a b => match eval a, eval b with Some x, Some y => Some (fadd x y) | _, _ => None end
  | Minus a b => match eval a, eval b with Some x, Some y => Some (fadd x (fneg y)) | _, _ => None end
  | Times a b => match eval a, eval b with Some x, Some y => Some (fmul x y) | _, _ => None end
  | Over a b => match eval a, eval b with Some x, Some y => match reciprocal b y with Some z =>
    Some (fmul x z) | None => None end | _, _ => None end
  | Root a => match eval a, known (Root a) with Some x, Some s => if feq (fmul s s) x &&
    nonneg (sgn E (fst s)) then Some s else None | _, _ => None end
  | Cos r => cosine r
  | Sin r => cosine ((1 # 2) - r)
  | Tan r => match cosine ((1 # 2) - 2 * r), cosine (2 * r) with
      | Some s, Some c => match reciprocal (Plus (Lit 1) (Cos (turn (2 * r)))) (fadd one c) with Some z =>
        Some (fmul s z) | None => None end
      | _, _ => None end
  end.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (known : expr -> option frac) (alpha S0 : R).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E).
Definition fval (a : frac) : R := val alpha (fst a) / IZR (Zpos (snd a)).
Lemma pos_pos : forall p, 0 < IZR (Zpos p). Proof. intro p. apply IZR_lt. reflexivity. Qed.
Lemma fval_add : forall a b, fval (fadd a b) = fval a + fval b.
Proof.
  intros [a p] [b r]. unfold fval, fadd; cbn [fst snd]. rewrite val_add, !val_scale, Pos2Z.inj_mul, mult_IZR.
  pose proof (pos_pos p). pose proof (pos_pos r). field. lra.
Qed.
Lemma fval_neg : forall a, fval (fneg a) = - fval a.
Proof. intros [a p]. unfold fval, fneg, neg; cbn [fst snd]. rewrite val_scale. pose proof (pos_pos p). field. lra. Qed.
Lemma fval_mul : forall a b, fval (fmul n q a b) = fval a * fval b.
Proof.
  intros [a p] [b r]. unfold fval, fmul; cbn [fst snd]. rewrite (val_mul n q alpha Hroot) by auto.
  rewrite Pos2Z.inj_mul, mult_IZR. pose proof (pos_pos p). pose proof (pos_pos r). field. lra.
Qed.
Lemma fval_one : fval one = 1. Proof. unfold fval, one; simpl. field. Qed.
Lemma feq_ok : forall a b, feq E a b = true -> fval a = fval b.
Proof.
  intros [a p] [b r] H. unfold feq in H. cbn [fst snd] in H. apply (keq_ok E alpha S0 HS HE) in H.
  rewrite !val_scale in H. unfold fval; cbn [fst snd]. pose proof (pos_pos p). pose proof (pos_pos r).
  apply Rmult_eq_reg_r with (IZR (Z.pos p) * IZR (Z.pos r)); [|nra].
  transitivity (IZR (Z.pos r) * val alpha a); [field; lra|]. rewrite H. field. lra.
Qed.
Lemma reciprocal_ok : forall e b x, reciprocal n q E known e b = Some x -> fval b <> 0 /\ fval x = / fval b.
Proof.
  intros e b x H. unfold reciprocal in H. destruct (fst b) as [|c r] eqn:Fb; [discriminate|].
  destruct (forallb (Z.eqb 0) r) eqn:Z0.
  - assert (Vr : val alpha r = 0).
  { clear - Z0. induction r as [|y r IH]; auto. cbn [forallb val] in *. apply andb_true_iff in Z0. destruct Z0 as [A B].
    apply Z.eqb_eq in A. subst y. rewrite IH; auto. ring. }
    pose proof (pos_pos (snd b)) as P.
    destruct c as [|c|c]; cbv beta iota in H; try discriminate; injection H as <-; unfold fval; rewrite Fb;
      cbn [fst snd val]; rewrite Vr; pose proof (pos_pos c).
    + split; [|field; lra]. intro X. apply Rmult_integral in X. destruct X as [X|X]; [lra|].
      pose proof (Rinv_0_lt_compat _ P). lra.
    + change (Z.neg c) with (- Z.pos c)%Z. change (Z.neg (snd b)) with (- Z.pos (snd b))%Z. rewrite !opp_IZR.
      split; [|field; lra]. intro X. apply Rmult_integral in X. destruct X as [X|X]; [lra|].
      pose proof (Rinv_0_lt_compat _ P). lra.
  - destruct (known (Over (Lit 1) e)) as [y|]; [|discriminate].
    destruct (feq E (fmul n q y b) one) eqn:Q; [|discriminate]. injection H as <-. apply feq_ok in Q.
    rewrite fval_mul, fval_one in Q.
    assert (N : fval b <> 0) by (intro X; rewrite X in Q; lra). split; auto. apply Rmult_eq_reg_r with (fval b); auto.
    rewrite Q. field. auto.
Qed.
Lemma cosine_ok : forall r x, cosine n q E known r = Some x -> fval x = cos (Q2R r * PI).
Proof.
  intros r x H. unfold cosine in H. cbv zeta in H. rewrite <- (Qeq_eqR _ _ (Qred_correct r)).
  destruct (Qred r) as [N d]. cbn [Qnum Qden] in H.
  destruct (known (Cos (1 # d))) as [[k m]|]; [|discriminate].
  destruct (is_cosine n q E k m (Pos.to_nat d)) eqn:C; [|discriminate]. injection H as <-.
  change (Z.pos d~0) with (2 * Z.pos d)%Z.
  destruct (is_cosine_ok n q E alpha S0 Hn Hroot HS HE k m _ C) as (_ & _ & V).
  specialize (V (Z.to_nat (Z.abs N mod (2 * Zpos d)))). rewrite cos_reduced, <- V.
  pose proof (Z.mod_pos_bound (Z.abs N) (2 * Zpos d) ltac:(lia)) as B. set (p := (Z.abs N mod (2 * Zpos d))%Z) in *.
  unfold fval; cbn [fst snd]. rewrite val_scale.
  replace (IZR (Z.pos (Pos.pow m (Z.to_pos (p + 1))))) with (IZR (Zpos m) * IZR (Zpos m) ^ Z.to_nat p).
  - pose proof (pos_pos m) as P. pose proof (pow_lt _ (Z.to_nat p) P) as Q0. set (y := IZR (Z.pos m) ^ Z.to_nat p) in *.
    clearbody y. field. split; lra.
  - rewrite Pos2Z.inj_pow, Z2Pos.id by lia. replace (p + 1)%Z with (Z.of_nat (S (Z.to_nat p))) by lia.
    rewrite <- pow_IZR. reflexivity.
Qed.
Lemma half_minus : forall r, Q2R ((1 # 2) - r) = 1 / 2 - Q2R r.
Proof. intro r. rewrite Q2R_minus. replace (Q2R (1 # 2)) with (1 / 2); [ring|]. unfold Q2R; simpl. lra. Qed.
Theorem eval_ok : forall e x, eval n q E known e = Some x -> denotes e (fval x).
Proof.
  induction e as [l|a IHa b IHb|a IHa b IHb|a IHa b IHb|a IHa b IHb|a IHa|r|r|r]; intros x H; cbn [eval] in H;
    try discriminate.
  - injection H as <-. replace (fval ([Qnum l], Qden l)) with (Q2R l); [constructor|].
    unfold fval, Q2R; cbn [fst snd val]. pose proof (pos_pos (Qden l)). field. lra.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-. rewrite fval_add.
    constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-.
    rewrite fval_add, fval_neg. constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-. rewrite fval_mul.
    constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b) as [y|]; try discriminate.
    destruct (reciprocal n q E known b y) as [z|] eqn:Rz; [|discriminate]. injection H as <-.
    destruct (reciprocal_ok _ _ _ Rz) as [N Ez]. rewrite fval_mul, Ez. apply d_over; auto.
  - destruct (eval n q E known a) as [y|], (known (Root a)) as [s|]; try discriminate.
    destruct (feq E (fmul n q s s) y && nonneg (sgn E (fst s))) eqn:Q; [|discriminate]. injection H as <-.
    apply andb_true_iff in Q. destruct Q as [Q1 Q2]. apply feq_ok in Q1. rewrite fval_mul in Q1.
    pose proof (sgn_ok alpha S0 HS E (fst s) HE) as G.
    assert (P : 0 <= fval s).
    { unfold fval.
      apply Rmult_le_pos; [destruct (sgn E (fst s)); try discriminate; lra|left; apply Rinv_0_lt_compat, pos_pos]. }
    replace (fval s) with (sqrt (fval y)) by (rewrite <- Q1; now apply sqrt_square). constructor; auto. rewrite <- Q1.
    now apply Rmult_le_pos.
  - rewrite (cosine_ok r x H). constructor.
  - rewrite (cosine_ok _ x H), half_minus. replace ((1 / 2 - Q2R r) * PI) with (PI / 2 - Q2R r * PI) by field.
    rewrite cos_shift. constructor.
  - destruct (cosine n q E known ((1 # 2) - 2 * r)) as [s|] eqn:Es; [|discriminate].
    destruct (cosine n q E known (2 * r)) as [c|] eqn:Ec; [|discriminate].
    destruct (reciprocal n q E known _ (fadd one c)) as [z|] eqn:Rz; [|discriminate]. injection H as <-.
    destruct (reciprocal_ok _ _ _ Rz) as [N Ez]. rewrite fval_add, fval_one in N, Ez.
    apply cosine_ok in Es, Ec. rewrite half_minus, Q2R_mult in Es. rewrite Q2R_mult in Ec.
    replace (Q2R 2) with 2 in Es, Ec by (unfold Q2R; simpl; lra).
    set (t := Q2R r * PI) in *. replace (2 * Q2R r * PI) with (2 * t) in Ec by (unfold t; ring).
    replace ((1 / 2 - 2 * Q2R r) * PI) with (PI / 2 - 2 * t) in Es by (unfold t; field). rewrite cos_shift in Es.
    rewrite fval_mul, Ez, Es, Ec in *. rewrite cos_2a_cos in *.
    assert (Nc : cos t <> 0) by (intro X; apply N; rewrite X; ring).
    replace (sin (2 * t) * / (1 + (2 * cos t * cos t - 1))) with (tan t); [now constructor|]. unfold tan.
    rewrite sin_2a. field. first [split; auto; intro X; apply N; lra|auto].
Qed.
End Sound.
