(* A drawn line as a chain of vertices: straight, advancing, from end to end. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Cross Split Cover Parity Paste FoldMap Number MeshCheck.
Import ListNotations.
Open Scope R_scope.
Definition dotp (a b c : pt) := (fst b - fst a) * (fst c - fst a) + (snd b - snd a) * (snd c - snd a).
Lemma mid_mid_l : forall a b t u, mid a (mid a b t) u = mid a b (t * u).
Proof. intros. unfold mid; simpl. f_equal; ring. Qed.
Lemma mid_mid_r : forall a b t u, mid (mid a b t) b u = mid a b (t + (1 - t) * u).
Proof. intros. unfold mid; simpl. f_equal; ring. Qed.
Lemma mid_0 : forall a b, mid a b 0 = a. Proof. intros [x y] b. unfold mid; simpl. f_equal; ring. Qed.
Lemma mid_1 : forall a b, mid a b 1 = b. Proof. intros a [x y]. unfold mid; simpl. f_equal; ring. Qed.
Lemma mid_same : forall a t, mid a a t = a. Proof. intros [x y] t. unfold mid; simpl. f_equal; ring. Qed.
Lemma seg_split : forall a b v p, on_seg a b v -> on_seg a b p -> on_seg a v p \/ on_seg v b p.
Proof.
  intros a b v p (t & Ht & Ev) (s & Hs & Ep). fold (mid a b t) in Ev. fold (mid a b s) in Ep. subst v p.
  destruct (Rle_dec s t) as [L|L].
  - left. destruct (Req_dec t 0) as [E|E].
    + exists 0. split; [lra|]. fold (mid a (mid a b t) 0). rewrite mid_0. replace s with 0 by lra. apply mid_0.
    + exists (s / t). split.
      * split; [apply Rmult_le_pos; [lra|left; apply Rinv_0_lt_compat; lra]|]. apply Rmult_le_reg_r with t; [lra|].
        unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
      * fold (mid a (mid a b t) (s / t)). rewrite mid_mid_l. f_equal. field. lra.
  - right. assert (0 < 1 - t) by lra. exists ((s - t) / (1 - t)). split.
    + split; [apply Rmult_le_pos; [lra|left; now apply Rinv_0_lt_compat]|]. apply Rmult_le_reg_r with (1 - t); [lra|].
      unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
    + fold (mid (mid a b t) b ((s - t) / (1 - t))). rewrite mid_mid_r. f_equal. field. lra.
Qed.
Lemma seg_sub_r : forall a b v p, on_seg a b v -> on_seg v b p -> on_seg a b p.
Proof.
  intros a b v p (t & Ht & Ev) (s & Hs & Ep). fold (mid a b t) in Ev. fold (mid v b s) in Ep. subst v p.
  exists (t + (1 - t) * s). split; [nra|]. apply mid_mid_r.
Qed.
Lemma seg_sub : forall a b u v p, on_seg a b u -> on_seg a b v -> on_seg u v p -> on_seg a b p.
Proof.
  intros a b u v p (s & Hs & Eu) (t & Ht & Ev) (r & Hr & Ep). fold (mid a b s) in Eu. fold (mid a b t) in Ev.
  fold (mid u v r) in Ep. subst u v p.
  exists ((1 - r) * s + r * t). split; [split; nra|]. unfold mid; simpl. f_equal; ring.
Qed.
Lemma seg_start : forall a b, on_seg a b a. Proof. intros. exists 0. split; [lra|]. symmetry. apply mid_0. Qed.
Lemma seg_end : forall a b, on_seg a b b. Proof. intros. exists 1. split; [lra|]. symmetry. apply mid_1. Qed.
Lemma passes_self : forall a p, passes a a p = false.
Proof. intros. unfold passes. destruct (Rle_dec (snd a) (snd p)), (Rlt_dec (snd p) (snd a)); auto; lra. Qed.

Definition steps (vs : list nat) : list (nat * nat) := combine vs (tl vs).
Definition iszero s := match s with Zero => true | _ => false end.
Definition nonneg s := match s with Pos | Zero => true | _ => false end.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (pts : nat -> kp).
Definition same (a b : kp) := keq E (fst a) (fst b) && keq E (snd a) (snd b).
(* w is on the segment from a to b, and is not a *)
Definition between (a b w : kp) := iszero (side_of n q E (line_of n q a b) w) && ispos (sgn E (kdot n q a b w)) &&
  nonneg (sgn E (kdot n q b a w)).
Fixpoint chain_from (v : nat) (b : kp) (r : list nat) : bool := match r with
  | [] => same (pts v) b
  | w :: r' => between (pts v) b (pts w) && chain_from w b r' end.
Definition chain (a b : nat) (vs : list nat) : bool := match vs with
  | v :: (_ :: _) as r => same (pts a) (pts v) && chain_from v (pts b) r
  | _ => false end.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts : nat -> kp).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation rp := (rp alpha den). Notation V := (MeshCheck.place alpha den pts).
Lemma iszero_ok : forall a b p, iszero (side_of n q E (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) = 0.
Proof.
  intros a b p H. pose proof (side_ok n q E alpha S0 den Hn Hroot HS HE Hden a b p).
  destruct (side_of _ _ _ _ _); auto; discriminate.
Qed.
Lemma nonneg_ok : forall a b p, nonneg (side_of n q E (line_of n q a b) p) = true -> 0 <= left (rp a) (rp b) (rp p).
Proof.
  intros a b p H. pose proof (side_ok n q E alpha S0 den Hn Hroot HS HE Hden a b p).
  destruct (side_of _ _ _ _ _); auto; try discriminate; lra.
Qed.
Lemma dot_sign : forall a b c, match sgn E (kdot n q a b c) with Pos => 0 < dotp (rp a) (rp b) (rp c) | Neg =>
  dotp (rp a) (rp b) (rp c) < 0 | Zero => dotp (rp a) (rp b) (rp c) = 0 | Unknown => True end.
Proof.
  intros a b c. pose proof (sgn_ok alpha S0 HS E (kdot n q a b c) HE) as X.
  rewrite (kdot_val n q alpha den Hn Hroot Hden) in X.
  fold (dotp (rp a) (rp b) (rp c)) in X. pose proof (den2 den Hden) as P. set (v := dotp _ _ _) in *. clearbody v.
  destruct (sgn E _); auto.
  - apply Rmult_lt_reg_l with (den * den); lra.
  - apply Rmult_lt_reg_l with (den * den); lra.
  - apply Rmult_integral in X. destruct X; auto. lra.
Qed.
Lemma dot_pos : forall a b c, ispos (sgn E (kdot n q a b c)) = true -> 0 < dotp (rp a) (rp b) (rp c).
Proof. intros a b c H. pose proof (dot_sign a b c). destruct (sgn E _); auto; discriminate. Qed.
Lemma dot_nonneg : forall a b c, nonneg (sgn E (kdot n q a b c)) = true -> 0 <= dotp (rp a) (rp b) (rp c).
Proof. intros a b c H. pose proof (dot_sign a b c). destruct (sgn E _); auto; try discriminate; lra. Qed.
Lemma same_ok : forall a b, same E a b = true -> rp a = rp b.
Proof.
  intros a b H. unfold same in H. apply andb_true_iff in H. destruct H as [H1 H2].
  apply (keq_ok E alpha S0 HS HE) in H1, H2. unfold MeshCheck.rp. now rewrite H1, H2.
Qed.
Lemma between_ok : forall a b w, between n q E a b w = true -> on_seg (rp a) (rp b) (rp w) /\ rp a <> rp w.
Proof.
  intros a b w H. unfold between in H. rewrite !andb_true_iff in H. destruct H as ((A & B) & C). apply iszero_ok in A.
  apply dot_pos in B. apply dot_nonneg in C.
  set (a' := rp a) in *. set (b' := rp b) in *. set (w' := rp w) in *. clearbody a' b' w'.
  assert (Nw : a' <> w'). { intro X. subst w'. unfold dotp in B. lra. }
  assert (Nb : a' <> b'). { intro X. subst b'. unfold dotp in B. lra. }
  split; auto. destruct (on_line_mid a' b' w' Nb A) as (s & ->). exists s. split; [|reflexivity].
  unfold dotp, mid in B, C; simpl in B, C. set (x := fst b' - fst a') in *. set (y := snd b' - snd a') in *.
  assert (Q : 0 < x * x + y * y).
  { destruct (Rle_lt_or_eq_dec 0 (x * x + y * y)) as [L|L]; auto; [nra|]. symmetry in L.
    destruct (Rplus_sqr_eq_0 x y L). exfalso. apply Nb. destruct a', b'; unfold x, y in *; simpl in *. f_equal; lra. }
  assert (0 < s * (x * x + y * y)) by (unfold x, y in *; lra).
  assert (0 <= (1 - s) * (x * x + y * y)) by (unfold x, y in *; lra). split; nra.
Qed.
Lemma chain_from_odd : forall r v b p, chain_from n q E pts v b r = true ->
  odd (map (Parity.place V) (steps (v :: r))) p = passes (V v) (rp b) p.
Proof.
  induction r as [|w r IH]; intros v b p H; simpl in H.
  - apply same_ok in H. fold (V v) in H. rewrite H, passes_self. reflexivity.
  - apply andb_true_iff in H. destruct H as [H1 H2]. destruct (between_ok _ _ _ H1) as (H3 & _).
    specialize (IH w b p H2).
    change (steps (v :: w :: r)) with ((v, w) :: steps (w :: r)). cbn [map]. unfold odd in *. cbn [fold_right].
    rewrite IH. symmetry. now apply passes_split.
Qed.
Lemma chain_from_on : forall r v b i j, chain_from n q E pts v b r = true -> In (i, j) (steps (v :: r)) ->
  on_seg (V v) (rp b) (V i) /\ on_seg (V v) (rp b) (V j) /\ V i <> V j.
Proof.
  induction r as [|w r IH]; intros v b i j H I; [destruct I|]. simpl in H. apply andb_true_iff in H.
  destruct H as [H1 H2]. destruct (between_ok _ _ _ H1) as (H3 & H4).
  change (steps (v :: w :: r)) with ((v, w) :: steps (w :: r)) in I. destruct I as [I|I].
  - injection I as <- <-. split; [apply seg_start|split; auto].
  - destruct (IH w b i j H2 I) as (A & B & C). split; [eapply seg_sub_r; eauto|split; auto]. eapply seg_sub_r; eauto.
Qed.
Lemma chain_from_all : forall r v b p, r <> [] -> chain_from n q E pts v b r = true -> on_seg (V v) (rp b) p ->
  exists i j, In (i, j) (steps (v :: r)) /\ on_seg (V i) (V j) p.
Proof.
  induction r as [|w r IH]; intros v b p N H Hp; [congruence|]. simpl in H. apply andb_true_iff in H.
  destruct H as [H1 H2]. destruct (between_ok _ _ _ H1) as (H3 & _).
  change (steps (v :: w :: r)) with ((v, w) :: steps (w :: r)). destruct (seg_split _ _ _ p H3 Hp) as [X|X].
  - exists v, w. split; [now left|exact X].
  - destruct r as [|x r].
    + simpl in H2. apply same_ok in H2. exists v, w. split; [now left|]. destruct X as (s & Hs & ->). rewrite H2.
      fold (mid (rp b) (rp b) s). rewrite mid_same, <- H2. apply seg_end.
    + destruct (IH w b p ltac:(congruence) H2 X) as (i & j & I & G). exists i, j. split; [now right|exact G].
Qed.
Theorem chain_ok : forall a b vs, chain n q E pts a b vs = true ->
  (forall p, odd (map (Parity.place V) (steps vs)) p = passes (V a) (V b) p) /\
  (forall i j, In (i, j) (steps vs) -> on_seg (V a) (V b) (V i) /\ on_seg (V a) (V b) (V j) /\ V i <> V j) /\
  (forall p, on_seg (V a) (V b) p -> exists i j, In (i, j) (steps vs) /\ on_seg (V i) (V j) p).
Proof.
  intros a b [|v [|w r]] H; try discriminate. unfold chain in H. apply andb_true_iff in H. destruct H as [H1 H2].
  apply same_ok in H1. fold (V a) in H1. fold (V v) in H1. rewrite H1.
  split; [intro p; now apply chain_from_odd|split; [intros i j I; exact (chain_from_on _ _ _ i j H2 I)|intros p Hp;
    apply (chain_from_all (w :: r) v (pts b)); auto; congruence]].
Qed.
(* chains beside a list of lines *)
Fixpoint chains (ls : list (nat * nat)) (cs : list (list nat)) : bool := match ls, cs with
  | [], [] => true | (a, b) :: ls', vs :: cs' => chain n q E pts a b vs && chains ls' cs' | _, _ => false end.
Lemma chains_odd : forall ls cs p, chains ls cs = true -> odd (map (Parity.place V) ls) p = odd
  (map (Parity.place V) (flat_map steps cs)) p.
Proof.
  induction ls as [|[a b] ls IH]; intros [|vs cs] p H; try discriminate; auto. simpl in H. apply andb_true_iff in H.
  destruct H as [H1 H2].
  cbn [flat_map]. rewrite map_app, odd_app, <- (IH cs p H2). cbn [map]. unfold odd at 1. cbn [fold_right]. f_equal.
  symmetry. exact (proj1 (chain_ok a b vs H1) p).
Qed.
Lemma chains_all : forall ls cs a b, chains ls cs = true -> In (a, b) ls ->
  exists vs, In vs cs /\ chain n q E pts a b vs = true.
Proof.
  induction ls as [|[x y] ls IH]; intros [|vs cs] a b H I; try discriminate; [destruct I|]. simpl in H.
  apply andb_true_iff in H. destruct H as [H1 H2]. destruct I as [I|I].
  - injection I as -> ->. exists vs. split; [now left|auto].
  - destruct (IH cs a b H2 I) as (ws & A & B). exists ws. split; [now right|auto].
Qed.
Lemma chains_back : forall ls cs vs, chains ls cs = true -> In vs cs ->
  exists a b, In (a, b) ls /\ chain n q E pts a b vs = true.
Proof.
  induction ls as [|[x y] ls IH]; intros [|ws cs] vs H I; try discriminate; [destruct I|]. simpl in H.
  apply andb_true_iff in H. destruct H as [H1 H2]. destruct I as [I|I].
  - subst. exists x, y. split; [now left|auto].
  - destruct (IH cs vs H2 I) as (a & b & A & B). exists a, b. split; [now right|auto].
Qed.
End Sound.
