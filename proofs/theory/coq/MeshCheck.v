(* The boolean checks on the flat triangles and their images, over Z[alpha]; sound for P1 P2 P3, ccw, congr of Paste.v.
   *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia. Require Import Statement Cross Cover Paste Number.
Import ListNotations.

Definition kp := (K * K)%type.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)).
Notation mul := (mul n q).
Definition kleft (a b p : kp) : K := sub (mul (sub (fst b) (fst a)) (sub (snd p) (snd a)))
  (mul (sub (snd b) (snd a)) (sub (fst p) (fst a))).
Record ln := Ln { ldx : K; ldy : K; lc0 : K }.
Definition line_of (a b : kp) : ln := let dx := sub (fst b) (fst a) in let dy :=
  sub (snd b) (snd a) in Ln dx dy (sub (mul dx (snd a)) (mul dy (fst a))).
Definition side_of (l : ln) (p : kp) : sign := sgn E (sub (sub (mul (ldx l) (snd p)) (mul (ldy l) (fst p))) (lc0 l)).
Record rt := Rt { rtr : tr; pa : kp; pb : kp; pc : kp; lab : ln; lbc : ln; lca : ln }.
Definition resolve (pts : nat -> kp) (t : tr) : rt := let a := pts (ci t) in let b := pts (cj t) in let c :=
  pts (ck t) in
  Rt t a b c (line_of a b) (line_of b c) (line_of c a).
Definition lns u := [lab u; lbc u; lca u].  Definition cps u := [pa u; pb u; pc u].
Definition isneg s := match s with Neg => true | _ => false end.
Definition ispos s := match s with Pos => true | _ => false end.
Definition nonpos s := match s with Neg | Zero => true | _ => false end.
Definition allneg l u := forallb (fun p => isneg (side_of l p)) (cps u).
Definition allpos l u := forallb (fun p => ispos (side_of l p)) (cps u).
Definition weak l ps := let s := map (side_of l) ps in forallb nonpos s && existsb isneg s.
Definition has (t : tr) (i : nat) := Nat.eqb i (ci t) || Nat.eqb i (cj t) || Nat.eqb i (ck t).
Definition p1 t u := existsb (fun l => weak l (cps u)) (lns t) || existsb (fun l => weak l (cps t)) (lns u).
Definition p3 i X u := has (rtr u) i || existsb (fun l => isneg (side_of l X)) (lns u).
Definition p2 i j X Y l u := (has (rtr u) i && has (rtr u) j) || existsb (fun m => weak m [X; Y]) (lns u) ||
  allneg l u || allpos l u.
Definition half t u := p3 (ci (rtr t)) (pa t) u && p3 (cj (rtr t)) (pb t) u && p3 (ck (rtr t)) (pc t) u &&
  p2 (ci (rtr t)) (cj (rtr t)) (pa t) (pb t) (lab t) u && p2 (cj (rtr t)) (ck (rtr t)) (pb t) (pc t) (lbc t) u &&
    p2 (ck (rtr t)) (ci (rtr t)) (pc t) (pa t) (lca t) u.
Definition pair_ok t u := existsb (fun l => allneg l u) (lns t) || existsb (fun l => allneg l t) (lns u) ||
  (p1 t u && half t u && half u t).
Fixpoint pairs_ok (l : list rt) : bool := match l with [] => true | t :: r => forallb (pair_ok t) r && pairs_ok r end.
Definition kdot a b c := add (mul (sub (fst b) (fst a)) (sub (fst c) (fst a)))
  (mul (sub (snd b) (snd a)) (sub (snd c) (snd a))).
Definition keq a b := match sgn E (sub a b) with Zero => true | _ => false end.
Definition one_ok (img : nat -> kp) (t : rt) := let a := pa t in let b := pb t in let c := pc t in
  let a' := img (ci (rtr t)) in let b' := img (cj (rtr t)) in let c' := img (ck (rtr t)) in
  ispos (side_of (lab t) c) && keq (kdot a b b) (kdot a' b' b') && keq (kdot a b c) (kdot a' b' c') &&
  keq (kleft a b c) (if tu (rtr t) then neg (kleft a' b' c') else kleft a' b' c').
Definition check_mesh (pts img : nat -> kp) (T : list tr) : bool := let R :=
  map (resolve pts) T in forallb (one_ok img) R && pairs_ok R.
End Bool.

Open Scope R_scope.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
(* all coordinates have one denominator *)
Definition rp (p : kp) : pt := (val alpha (fst p) / den, val alpha (snd p) / den).
Definition place (f : nat -> kp) (i : nat) : pt := rp (f i).
Notation V := (place pts). Notation W := (place img).
Ltac vals := repeat (rewrite ?(val_sub alpha), ?(val_add alpha), ?(val_mul n q alpha Hroot) by auto).
Lemma kleft_val : forall a b p, val alpha (kleft n q a b p) = (den * den) * left (rp a) (rp b) (rp p).
Proof. intros. unfold kleft, left, rp; simpl. vals. field. lra. Qed.
Lemma kdot_val : forall a b c, val alpha (kdot n q a b c) =
  (den * den) * ((fst (rp b) - fst (rp a)) * (fst (rp c) - fst (rp a)) + (snd (rp b) - snd (rp a)) *
    (snd (rp c) - snd (rp a))).
Proof. intros. unfold kdot, rp; simpl. vals. field. lra. Qed.
Lemma den2 : 0 < den * den. Proof. now apply Rmult_lt_0_compat. Qed.
Lemma side_ok : forall a b p, match side_of n q E (line_of n q a b) p with Pos => 0 < left (rp a) (rp b) (rp p) | Neg =>
  left (rp a) (rp b) (rp p) < 0 | Zero => left (rp a) (rp b) (rp p) = 0 | Unknown => True end.
Proof.
  intros a b p. unfold side_of.
  pose proof (sgn_ok alpha S0 HS E (sub (sub (mul n q (ldx (line_of n q a b)) (snd p))
    (mul n q (ldy (line_of n q a b)) (fst p))) (lc0 (line_of n q a b))) HE) as X.
  assert (Y : val alpha (sub (sub (mul n q (ldx (line_of n q a b)) (snd p)) (mul n q (ldy (line_of n q a b)) (fst p)))
    (lc0 (line_of n q a b))) = (den * den) * left (rp a) (rp b) (rp p)).
  { rewrite <- kleft_val. unfold line_of, kleft; simpl. vals. ring. }
  rewrite Y in X. clear Y. pose proof den2 as P. set (v := left (rp a) (rp b) (rp p)) in *. clearbody v.
  destruct (sgn E _); auto.
  - apply Rmult_lt_reg_l with (den * den); lra.
  - apply Rmult_lt_reg_l with (den * den); lra.
  - apply Rmult_integral in X. destruct X; auto. lra.
Qed.
Lemma isneg_ok : forall a b p, isneg (side_of n q E (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) < 0.
Proof. intros a b p H. pose proof (side_ok a b p). destruct (side_of _ _ _ _ _); auto; discriminate. Qed.
Lemma ispos_ok : forall a b p, ispos (side_of n q E (line_of n q a b) p) = true -> 0 < left (rp a) (rp b) (rp p).
Proof. intros a b p H. pose proof (side_ok a b p). destruct (side_of _ _ _ _ _); auto; discriminate. Qed.
Lemma nonpos_ok : forall a b p, nonpos (side_of n q E (line_of n q a b) p) = true -> left (rp a) (rp b) (rp p) <= 0.
Proof. intros a b p H. pose proof (side_ok a b p). destruct (side_of _ _ _ _ _); auto; try discriminate; lra. Qed.
Notation rs := (resolve n q pts).
Notation g := (geo V).
Lemma lines_in : forall t l, In l (lns (rs t)) -> exists a b, l = line_of n q a b /\
  (forall x, closed (g t) x -> 0 <= left (rp a) (rp b) x) /\ (forall x, open (g t) x -> 0 < left (rp a) (rp b) x).
Proof.
  intros t l [<-|[<-|[<-|[]]]]; simpl; [exists (pts (ci t)), (pts (cj t))|exists (pts (cj t)),
    (pts (ck t))|exists (pts (ck t)), (pts (ci t))]; (split; [reflexivity|]);
   unfold closed, open, geo, place; split; intros x (A & B & C); auto.
Qed.
(* a point of a triangle is a mean of the corners *)
Lemma mean : forall t x a b, ccw (g t) -> closed (g t) x -> exists u v w, 0 <= u /\ 0 <= v /\ 0 <= w /\ u + v + w = 1 /\
  (open (g t) x -> 0 < u /\ 0 < v /\ 0 < w) /\
   left a b x = u * left a b (V (ci t)) + v * left a b (V (cj t)) + w * left a b (V (ck t)).
Proof.
  intros t x a b HD (C & A & B). unfold ccw, geo in HD.
  destruct (bary (V (ci t)) (V (cj t)) (V (ck t)) x) as (S & Y & X).
  set (D := left (V (ci t)) (V (cj t)) (V (ck t))) in *.
  exists (left (V (cj t)) (V (ck t)) x / D), (left (V (ck t)) (V (ci t)) x / D), (left (V (ci t)) (V (cj t)) x / D).
  assert (Dv : forall y, 0 <= y -> 0 <= y / D) by (intros; apply Rmult_le_pos; auto; left; now apply Rinv_0_lt_compat).
  split; [auto|split; [auto|split; [auto|split; [|split]]]].
  - transitivity ((left (V (cj t)) (V (ck t)) x + left (V (ck t)) (V (ci t)) x + left (V (ci t)) (V (cj t)) x) / D);
      [field; lra|rewrite <- S; field; lra].
  - intros (C1 & A1 & B1). repeat split; apply Rdiv_lt_0_compat; auto.
  - apply Rmult_eq_reg_l with D; [|lra]. set (al := left (V (cj t)) (V (ck t)) x) in *.
    set (be := left (V (ck t)) (V (ci t)) x) in *. set (ga := left (V (ci t)) (V (cj t)) x) in *.
    transitivity (al * left a b (V (ci t)) + be * left a b (V (cj t)) + ga * left a b (V (ck t))); [|field; lra].
    unfold left. replace (D * ((fst b - fst a) * (snd x - snd a) - (snd b - snd a) * (fst x - fst a))) with
      ((fst b - fst a) * (D * snd x - D * snd a) - (snd b - snd a) * (D * fst x - D * fst a)) by ring. rewrite X, Y, S.
      ring.
Qed.
Lemma mean_neg : forall u v w A B C, 0 <= u -> 0 <= v -> 0 <= w -> u + v + w = 1 -> A < 0 -> B < 0 -> C < 0 ->
  u * A + v * B + w * C < 0.
Proof.
  intros. set (M := Rmax A (Rmax B C)). assert (M < 0) by (unfold M; repeat apply Rmax_lub_lt; auto).
  assert (A <= M) by apply Rmax_l. assert (B <= M) by (eapply Rle_trans; [apply Rmax_l|apply Rmax_r]).
  assert (C <= M) by (eapply Rle_trans; [apply Rmax_r|apply Rmax_r]).
  assert (u * A <= u * M) by (apply Rmult_le_compat_l; auto).
  assert (v * B <= v * M) by (apply Rmult_le_compat_l; auto).
  assert (w * C <= w * M) by (apply Rmult_le_compat_l; auto).
  assert (u * M + v * M + w * M = M) by (rewrite <- !Rmult_plus_distr_r, H2; ring). lra.
Qed.
Lemma mean_le : forall u v w A B C, 0 <= u -> 0 <= v -> 0 <= w -> A <= 0 -> B <= 0 -> C <= 0 ->
  u * A + v * B + w * C <= 0.
Proof. intros. assert (u * A <= 0) by nra. assert (v * B <= 0) by nra. assert (w * C <= 0) by nra. lra. Qed.
Lemma mean_lt : forall u v w A B C, 0 < u -> 0 < v -> 0 < w -> A <= 0 -> B <= 0 -> C <= 0 -> A < 0 \/ B < 0 \/ C < 0 ->
  u * A + v * B + w * C < 0.
Proof.
  intros. assert (u * A <= 0) by nra. assert (v * B <= 0) by nra. assert (w * C <= 0) by nra.
  destruct H5 as [?|[?|?]]; [assert (u * A < 0) by nra|assert (v * B < 0) by nra|assert (w * C < 0) by nra]; lra.
Qed.
Lemma strict_out : forall a b u x, ccw (g u) -> allneg n q E (line_of n q a b) (rs u) = true -> closed (g u) x ->
  left (rp a) (rp b) x < 0.
Proof.
  intros a b u x HD H C. unfold allneg in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
  apply isneg_ok in A1, A2, A3. destruct (mean u x (rp a) (rp b) HD C) as (p & r & s & P & Q & R & S & _ & ->).
  unfold place in *. apply mean_neg; auto.
Qed.
Lemma strict_in : forall a b u x, ccw (g u) -> allpos n q E (line_of n q a b) (rs u) = true -> closed (g u) x ->
  0 < left (rp a) (rp b) x.
Proof.
  intros a b u x HD H C. unfold allpos in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
  apply ispos_ok in A1, A2, A3. destruct (mean u x (rp a) (rp b) HD C) as (p & r & s & P & Q & R & S & _ & ->).
  unfold place in *.
  assert (X : p * - left (rp a) (rp b) (rp (pts (ci u))) + r * - left (rp a) (rp b) (rp (pts (cj u))) + s * - left
    (rp a) (rp b) (rp (pts (ck u))) < 0) by (apply mean_neg; auto; lra).
  lra.
Qed.
Lemma weak_open : forall a b u x, ccw (g u) -> weak n q E (line_of n q a b) (cps (rs u)) = true ->
   (open (g u) x -> left (rp a) (rp b) x < 0) /\ (closed (g u) x -> left (rp a) (rp b) x <= 0).
Proof.
  intros a b u x HD H. unfold weak in H. simpl in H. rewrite !andb_true_iff, !orb_true_iff in H.
  destruct H as ((A1 & A2 & A3 & _) & N).
  apply nonpos_ok in A1, A2, A3. split; intro O.
  - assert (C : closed (g u) x) by (destruct O as (?&?&?); unfold closed; simpl; lra).
    destruct (mean u x (rp a) (rp b) HD C) as (p & r & s & P & Q & R & S & St & ->).
    destruct (St O) as (P' & Q' & R'). unfold place in *. apply mean_lt; auto.
    destruct N as [N|[N|[N|N]]]; try discriminate; apply isneg_ok in N; auto.
  - destruct (mean u x (rp a) (rp b) HD O) as (p & r & s & P & Q & R & S & St & ->). unfold place in *.
    apply mean_le; auto.
Qed.
Lemma weak_seg : forall a b X Y l, weak n q E (line_of n q a b) [X; Y] = true -> 0 < l < 1 ->
  left (rp a) (rp b) (mid (rp X) (rp Y) l) < 0.
Proof.
  intros a b X Y l H Hl. unfold weak in H. simpl in H. rewrite !andb_true_iff, !orb_true_iff in H.
  destruct H as ((A1 & A2 & _) & N). apply nonpos_ok in A1, A2.
  rewrite left_mid. destruct N as [N|[N|N]]; try discriminate; apply isneg_ok in N; nra.
Qed.
Lemma has_ok : forall t i, has t i = true -> corner t i.
Proof. intros t i H. unfold has in H. rewrite !orb_true_iff, !Nat.eqb_eq in H. unfold corner. tauto. Qed.

Definition apart2 t u := (forall x, open (g t) x -> closed (g u) x -> False) /\
  (forall i, corner t i -> closed (g u) (V i) -> corner u i) /\
  (forall i j l, corner t i -> corner t j -> i <> j -> 0 < l < 1 -> closed (g u) (mid (V i) (V j) l) ->
    corner u i /\ corner u j).
Lemma ex_lines : forall t f, existsb f (lns (rs t)) = true -> exists a b, f (line_of n q a b) = true /\
  (forall x, closed (g t) x -> 0 <= left (rp a) (rp b) x) /\ (forall x, open (g t) x -> 0 < left (rp a) (rp b) x).
Proof.
  intros t f H. apply existsb_exists in H. destruct H as (l & Hl & Hf).
  destruct (lines_in t l Hl) as (a & b & -> & A & B). eauto.
Qed.
Lemma p3_ok : forall i X u, p3 n q E i X (rs u) = true -> closed (g u) (rp X) -> corner u i.
Proof.
  intros i X u H C. apply orb_true_iff in H. destruct H as [H|H]; [now apply has_ok|].
  destruct (ex_lines u _ H) as (a & b & N & A & _). apply isneg_ok in N. specialize (A _ C). lra.
Qed.
Lemma p2_ok : forall i j X Y u l, ccw (g u) -> p2 n q E i j X Y (line_of n q X Y) (rs u) = true -> 0 < l < 1 ->
  closed (g u) (mid (rp X) (rp Y) l) -> corner u i /\ corner u j.
Proof.
  intros i j X Y u l HD H Hl C. unfold p2 in H. rewrite !orb_true_iff, andb_true_iff in H.
  destruct H as [[[[A B]|H]|H]|H].
  - split; now apply has_ok.
  - destruct (ex_lines u _ H) as (a & b & N & A & _). exfalso. pose proof (weak_seg a b X Y l N Hl). specialize (A _ C).
    lra.
  - exfalso. pose proof (strict_out X Y u _ HD H C) as N. rewrite left_mid in N. unfold left in N. nra.
  - exfalso. pose proof (strict_in X Y u _ HD H C) as N. rewrite left_mid in N. unfold left in N. nra.
Qed.
Lemma mid_sym : forall x y l, mid x y l = mid y x (1 - l). Proof. intros; unfold mid. f_equal; ring. Qed.
Lemma half_ok : forall t u, ccw (g u) -> half n q E (rs t) (rs u) = true ->
  (forall i, corner t i -> closed (g u) (V i) -> corner u i) /\
  (forall i j l, corner t i -> corner t j -> i <> j -> 0 < l < 1 -> closed (g u) (mid (V i) (V j) l) ->
    corner u i /\ corner u j).
Proof.
  intros t u HD H. unfold half in H. rewrite !andb_true_iff in H. destruct H as (((((A1 & A2) & A3) & B1) & B2) & B3).
  simpl in *. split.
  - intros i [-> | [-> | ->]] C; eapply p3_ok; eauto.
  - intros i j l Hi Hj D Hl C. assert (Hl' : 0 < 1 - l < 1) by lra. unfold place in C. pose proof C as C'.
    rewrite mid_sym in C'. destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence.
    + exact (p2_ok _ _ _ _ u l HD B1 Hl C).
    + apply and_comm. exact (p2_ok _ _ _ _ u (1 - l) HD B3 Hl' C').
    + apply and_comm. exact (p2_ok _ _ _ _ u (1 - l) HD B1 Hl' C').
    + exact (p2_ok _ _ _ _ u l HD B2 Hl C).
    + exact (p2_ok _ _ _ _ u l HD B3 Hl C).
    + apply and_comm. exact (p2_ok _ _ _ _ u (1 - l) HD B2 Hl' C').
Qed.
Lemma far : forall t u, (forall x, closed (g t) x -> closed (g u) x -> False) ->
  (forall i, corner t i -> closed (g t) (V i)) -> (forall i j l, corner t i -> corner t j -> 0 < l < 1 ->
  closed (g t) (mid (V i) (V j) l)) -> apart2 t u.
Proof.
  intros t u H C1 C2. split; [|split].
  - intros x (A & B & C) D. apply (H x); auto. unfold closed; simpl. lra.
  - intros i Hi D. exfalso. eauto.
  - intros i j l Hi Hj _ Hl D. exfalso. eauto.
Qed.
Lemma corners_closed : forall t, ccw (g t) -> (forall i, corner t i -> closed (g t) (V i)) /\
  (forall i j l, corner t i -> corner t j -> 0 < l < 1 -> closed (g t) (mid (V i) (V j) l)).
Proof.
  intros t HD. assert (X : forall i, corner t i -> closed (g t) (V i)).
  { intros i H. unfold ccw, geo in HD. unfold closed, geo.
    assert (R1 : left (V (cj t)) (V (ck t)) (V (ci t)) = left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left; ring).
    assert (R2 : left (V (ck t)) (V (ci t)) (V (cj t)) = left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left; ring).
    assert (Z : forall a b, left a b a = 0) by (intros; unfold left; ring).
    assert (Z' : forall a b, left a b b = 0) by (intros; unfold left; ring).
    destruct H as [-> | [-> | ->]]; rewrite ?Z, ?Z', ?R1, ?R2; lra. }
  split; auto. intros i j l Hi Hj Hl. destruct (X i Hi) as (A & B & C), (X j Hj) as (A' & B' & C'). unfold closed, geo.
  rewrite !left_mid. repeat split; nra.
Qed.
Theorem pair_sound : forall t u, ccw (g t) -> ccw (g u) -> pair_ok n q E (rs t) (rs u) = true ->
  apart2 t u /\ apart2 u t.
Proof.
  intros t u Ht Hu H. unfold pair_ok in H. rewrite !orb_true_iff, !andb_true_iff in H.
  destruct (corners_closed t Ht) as (T1 & T2), (corners_closed u Hu) as (U1 & U2).
  destruct H as [[H|H]|((P & H1) & H2)].
  - destruct (ex_lines t _ H) as (a & b & N & A & _). assert (X : forall x, closed (g t) x -> closed (g u) x -> False).
    { intros x C D. pose proof (strict_out a b u x Hu N D). specialize (A x C). lra. } split; apply far; eauto.
  - destruct (ex_lines u _ H) as (a & b & N & A & _). assert (X : forall x, closed (g t) x -> closed (g u) x -> False).
    { intros x C D. pose proof (strict_out a b t x Ht N C). specialize (A x D). lra. } split; apply far; eauto.
  - destruct (half_ok t u Hu H1) as (A1 & A2). destruct (half_ok u t Ht H2) as (B1 & B2).
    assert (X : (forall x, open (g t) x -> closed (g u) x -> False) /\
      (forall x, open (g u) x -> closed (g t) x -> False)).
    { unfold p1 in P. apply orb_true_iff in P. destruct P as [P|P].
      - destruct (ex_lines t _ P) as (a & b & N & C & O).
        split; intros x D G; destruct (weak_open a b u x Hu N) as (W1 & W2).
        + specialize (O x D). specialize (W2 G). lra. + specialize (C x G). specialize (W1 D). lra.
      - destruct (ex_lines u _ P) as (a & b & N & C & O).
        split; intros x D G; destruct (weak_open a b t x Ht N) as (W1 & W2).
        + specialize (C x G). specialize (W1 D). lra. + specialize (O x D). specialize (W2 G). lra. }
    destruct X as [X1 X2]. split; (split; [assumption|split; assumption]).
Qed.
Lemma keq_ok : forall a b, keq E a b = true -> val alpha a = val alpha b.
Proof.
  intros a b H. unfold keq in H. pose proof (sgn_ok alpha S0 HS E (sub a b) HE).
  destruct (sgn E (sub a b)); try discriminate. rewrite val_sub in H0. lra.
Qed.
Lemma one_sound : forall t, one_ok n q E img (rs t) = true -> ccw (g t) /\ congr V W t.
Proof.
  intros t H. unfold one_ok in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (((A & B) & C) & D).
  apply ispos_ok in A. apply keq_ok in B, C, D.
  split; [exact A|]. pose proof den2 as P.
  assert (Cancel : forall x y, den * den * x = den * den * y -> x = y) by (intros x y X; apply Rmult_eq_reg_l in X;
    lra).
  rewrite !kdot_val in B, C. apply Cancel in B, C. unfold congr, dot2, place. split; [exact B|split; [exact C|]].
  apply Cancel. rewrite <- kleft_val. rewrite D. unfold sg.
  destruct (tu t); unfold neg; rewrite ?(val_scale alpha), kleft_val; ring.
Qed.
Theorem mesh_sound : forall T, check_mesh n q E pts img T = true ->
  (forall t, In t T -> ccw (g t) /\ congr V W t) /\ ForallOrdPairs (fun t u => apart2 t u /\ apart2 u t) T.
Proof.
  intros T H. unfold check_mesh in H. apply andb_true_iff in H. destruct H as [H1 H2].
  assert (X : forall t, In t T -> ccw (g t) /\ congr V W t).
  { intros t Ht. rewrite forallb_forall in H1. apply one_sound, H1, in_map, Ht. }
  split; auto. clear H1. induction T as [|t T IH]; constructor.
  - simpl in H2. apply andb_true_iff in H2. destruct H2 as [H2 _]. rewrite forallb_forall in H2. apply Forall_forall.
    intros u Hu.
    apply pair_sound; [apply X; now left|apply X; now right|apply H2, in_map, Hu].
  - simpl in H2. apply andb_true_iff in H2. apply IH; [tauto|]. intros u Hu. apply X. now right.
Qed.
End Sound.
