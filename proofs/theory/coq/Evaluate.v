(* Numbers as they are written, computed in the field: roots and reciprocals are proposed, and checked. *)
Require Import Reals QArith Qreals List Bool ZArith Lra Psatz Lia. Require Import Statement Document Cross Cover Paste Number MeshCheck Chain LayerCheck.
Import ListNotations.
Open Scope R_scope.
Definition frac := (K * positive)%type.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (known : expr -> option frac).
Notation mul := (mul n q).
Definition fadd (a b : frac) : frac := (add (scale (Zpos (snd b)) (fst a)) (scale (Zpos (snd a)) (fst b)), (snd a * snd b)%positive).
Definition fneg (a : frac) : frac := (neg (fst a), snd a).
Definition fmul (a b : frac) : frac := (mul (fst a) (fst b), (snd a * snd b)%positive).
Definition feq (a b : frac) : bool := keq E (scale (Zpos (snd b)) (fst a)) (scale (Zpos (snd a)) (fst b)).
Definition one : frac := ([1%Z], 1%positive).
(* 1/b: of a rational number by itself, else proposed *)
Definition reciprocal (e : expr) (b : frac) : option frac := match fst b with
  | c :: r => if forallb (Z.eqb 0) r then match c with Zpos c => Some ([Zpos (snd b)], c) | Zneg c => Some ([Zneg (snd b)], c) | Z0 => None end
              else match known (Over (Lit 1) e) with Some x => if feq (fmul x b) one then Some x else None | None => None end
  | [] => None end.
Fixpoint eval (e : expr) : option frac := match e with
  | Lit x => Some ([Qnum x], Qden x)
  | Plus a b => match eval a, eval b with Some x, Some y => Some (fadd x y) | _, _ => None end
  | Minus a b => match eval a, eval b with Some x, Some y => Some (fadd x (fneg y)) | _, _ => None end
  | Times a b => match eval a, eval b with Some x, Some y => Some (fmul x y) | _, _ => None end
  | Over a b => match eval a, eval b with Some x, Some y => match reciprocal b y with Some z => Some (fmul x z) | None => None end | _, _ => None end
  | Root a => match eval a, known (Root a) with Some x, Some s => if feq (fmul s s) x && nonneg (sgn E (fst s)) then Some s else None | _, _ => None end
  | Cos _ | Sin _ | Tan _ => None end.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (known : expr -> option frac) (alpha S0 : R).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E).
Definition fval (a : frac) : R := val alpha (fst a) / IZR (Zpos (snd a)).
Lemma pos_pos : forall p, 0 < IZR (Zpos p). Proof. intro p. apply IZR_lt. reflexivity. Qed.
Lemma fval_add : forall a b, fval (fadd a b) = fval a + fval b.
Proof. intros [a p] [b r]. unfold fval, fadd; cbn [fst snd]. rewrite val_add, !val_scale, Pos2Z.inj_mul, mult_IZR. pose proof (pos_pos p). pose proof (pos_pos r). field. lra. Qed.
Lemma fval_neg : forall a, fval (fneg a) = - fval a.
Proof. intros [a p]. unfold fval, fneg, neg; cbn [fst snd]. rewrite val_scale. pose proof (pos_pos p). field. lra. Qed.
Lemma fval_mul : forall a b, fval (fmul n q a b) = fval a * fval b.
Proof. intros [a p] [b r]. unfold fval, fmul; cbn [fst snd]. rewrite (val_mul n q alpha Hroot) by auto. rewrite Pos2Z.inj_mul, mult_IZR. pose proof (pos_pos p). pose proof (pos_pos r). field. lra. Qed.
Lemma fval_one : fval one = 1. Proof. unfold fval, one; simpl. field. Qed.
Lemma feq_ok : forall a b, feq E a b = true -> fval a = fval b.
Proof.
  intros [a p] [b r] H. unfold feq in H. cbn [fst snd] in H. apply (keq_ok E alpha S0 HS HE) in H. rewrite !val_scale in H. unfold fval; cbn [fst snd]. pose proof (pos_pos p). pose proof (pos_pos r).
  apply Rmult_eq_reg_r with (IZR (Z.pos p) * IZR (Z.pos r)); [|nra]. transitivity (IZR (Z.pos r) * val alpha a); [field; lra|]. rewrite H. field. lra.
Qed.
Lemma reciprocal_ok : forall e b x, reciprocal n q E known e b = Some x -> fval b <> 0 /\ fval x = / fval b.
Proof.
  intros e b x H. unfold reciprocal in H. destruct (fst b) as [|c r] eqn:Fb; [discriminate|]. destruct (forallb (Z.eqb 0) r) eqn:Z0.
  - assert (Vr : val alpha r = 0). { clear - Z0. induction r as [|y r IH]; auto. cbn [forallb val] in *. apply andb_true_iff in Z0. destruct Z0 as [A B]. apply Z.eqb_eq in A. subst y. rewrite IH; auto. ring. }
    pose proof (pos_pos (snd b)) as P. destruct c as [|c|c]; cbv beta iota in H; try discriminate; injection H as <-; unfold fval; rewrite Fb; cbn [fst snd val]; rewrite Vr; pose proof (pos_pos c).
    + split; [|field; lra]. intro X. apply Rmult_integral in X. destruct X as [X|X]; [lra|]. pose proof (Rinv_0_lt_compat _ P). lra.
    + change (Z.neg c) with (- Z.pos c)%Z. change (Z.neg (snd b)) with (- Z.pos (snd b))%Z. rewrite !opp_IZR. split; [|field; lra]. intro X. apply Rmult_integral in X. destruct X as [X|X]; [lra|]. pose proof (Rinv_0_lt_compat _ P). lra.
  - destruct (known (Over (Lit 1) e)) as [y|]; [|discriminate]. destruct (feq E (fmul n q y b) one) eqn:Q; [|discriminate]. injection H as <-. apply feq_ok in Q. rewrite fval_mul, fval_one in Q.
    assert (N : fval b <> 0) by (intro X; rewrite X in Q; lra). split; auto. apply Rmult_eq_reg_r with (fval b); auto. rewrite Q. field. auto.
Qed.
Theorem eval_ok : forall e x, eval n q E known e = Some x -> denotes e (fval x).
Proof.
  induction e as [l|a IHa b IHb|a IHa b IHb|a IHa b IHb|a IHa b IHb|a IHa|r|r|r]; intros x H; cbn [eval] in H; try discriminate.
  - injection H as <-. replace (fval ([Qnum l], Qden l)) with (Q2R l); [constructor|]. unfold fval, Q2R; cbn [fst snd val]. pose proof (pos_pos (Qden l)). field. lra.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-. rewrite fval_add. constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-. rewrite fval_add, fval_neg. constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b); try discriminate. injection H as <-. rewrite fval_mul. constructor; auto.
  - destruct (eval n q E known a), (eval n q E known b) as [y|]; try discriminate. destruct (reciprocal n q E known b y) as [z|] eqn:Rz; [|discriminate]. injection H as <-.
    destruct (reciprocal_ok _ _ _ Rz) as [N Ez]. rewrite fval_mul, Ez. apply d_over; auto.
  - destruct (eval n q E known a) as [y|], (known (Root a)) as [s|]; try discriminate. destruct (feq E (fmul n q s s) y && nonneg (sgn E (fst s))) eqn:Q; [|discriminate]. injection H as <-.
    apply andb_true_iff in Q. destruct Q as [Q1 Q2]. apply feq_ok in Q1. rewrite fval_mul in Q1. pose proof (sgn_ok alpha S0 HS E (fst s) HE) as G.
    assert (P : 0 <= fval s). { unfold fval. apply Rmult_le_pos; [destruct (sgn E (fst s)); try discriminate; lra|left; apply Rinv_0_lt_compat, pos_pos]. }
    replace (fval s) with (sqrt (fval y)) by (rewrite <- Q1; now apply sqrt_square). constructor; auto. rewrite <- Q1. now apply Rmult_le_pos.
Qed.
End Sound.
