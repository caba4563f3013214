(* A boolean check of a closed walk whose reflections move a point, and that it refutes. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Edge Top Number MeshCheck Mesh Chain FoldCheck
  LayerCheck Field Evaluate Closure Drawn Checker.
Import ListNotations.
Open Scope R_scope.
Definition hp := (K * K * K)%type.                         (* x, y over w *)
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (pts : nat -> kp) (T : list tr) (fs : list (nat * nat)).
Notation mul := (mul n q).
Definition mirror (a b : kp) (p : hp) : hp := let '(x, y, w) := p in let dx := sub (fst b) (fst a) in let dy :=
  sub (snd b) (snd a) in
  let s := add (mul dx dx) (mul dy dy) in let l := sub (mul dx (sub y (mul (snd a) w))) (mul dy (sub x (mul (fst a) w)))
    in
  (add (mul s x) (scale 2 (mul l dy)), sub (mul s y) (scale 2 (mul l dx)), mul s w).
Definition is_in (t : tr) := existsb (tr_eqb t) T.
(* one step: over the edge i j to the triangle v; the fold edges crossed so far *)
Fixpoint crossed (u : tr) (l : list (nat * nat * tr)) (acc : list (nat * nat)) : option (tr * list (nat * nat)) :=
  match l with
  | [] => Some (u, acc)
  | ((i, j), v) :: r => if is_in v && negb (tr_eqb u v) && negb (Nat.eqb i j) && has u i && has u j && has v i &&
    has v j
      then crossed v r (if edge_in i j fs then (i, j) :: acc else acc) else None end.
Fixpoint mirrored (l : list (nat * nat)) (p : hp) : hp := match l with [] => p | (i, j) :: r =>
  mirrored r (mirror (pts i) (pts j) p) end.
Definition starts : list kp := [([], []); ([1%Z], []); ([], [1%Z])].
Definition moved (l : list (nat * nat)) (s : kp) := let '(x, y, w) := mirrored l (fst s, snd s, [1%Z]) in
  strict (sgn E (sub x (mul (fst s) w))) || strict (sgn E (sub y (mul (snd s) w))).
Definition check_walk (t : tr) (l : list (nat * nat * tr)) := is_in t && match crossed t l [] with Some (u, acc) =>
  tr_eqb u t && existsb (moved acc) starts | None => false end.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation d := (doc_at D V). Notation cr := (w_creases D).
Notation FS := (fold_steps cr cs).
Hypothesis M : mesh V T d.
Hypothesis Ch : chains n q E pts (map fst cr) cs = true.
Hypothesis Hedge : forall x y, In (x, y) FS -> exists t, In t T /\ corner t x /\ corner t y.
Notation Ccw := (m_ccw V T d M).
(* a point of a crease is on a chain's edge, which is an edge of a triangle *)
Lemma on_fold_edge : forall p, on_fold d p -> exists x y u m, In (x, y) FS /\ In u T /\ corner u x /\ corner u y /\
  V x <> V y /\ 0 <= m <= 1 /\ p = mid (V x) (V y) m.
Proof.
  intros p (a & b & k & Hc & Fk & Hp). apply in_map_iff in Hc. destruct Hc as ([[a' b'] k'] & Q & Hc).
  cbn [fst snd] in Q. injection Q as <- <- <-.
  destruct (proj2 (chains_combine n q E pts cr cs Ch) _ Hc) as (vs & Iv).
  destruct (proj1 (chains_combine n q E pts cr cs Ch) _ _ Iv) as [_ C]. cbn [fst snd] in C.
  destruct (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a' b' vs C) as (_ & C2 & C3).
  destruct (C3 p Hp) as (x & y & Ixy & m & Hm & Ep). destruct (C2 x y Ixy) as (_ & _ & Nxy).
  assert (If : In (x, y) FS).
  { apply in_flat_map. exists ((a', b', k'), vs). split; auto. cbn [fst snd]. destruct k'; auto. exfalso. apply Fk.
    reflexivity. }
  destruct (Hedge x y If) as (u & Hu & Ux & Uy). exists x, y, u, m. repeat (split; [assumption|]). exact Ep.
Qed.
Lemma off_folds : forall t p, In t T -> open (geo V t) p -> ~ on_fold d p.
Proof. exact (off_drawn V T d FS (on_fold d) M on_fold_edge). Qed.
(* a crease that passes an inner point of an edge runs along the edge *)
Lemma along_edge : forall t i j l, In t T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
  on_fold d (mid (V i) (V j) l) -> edge_in i j FS = true.
Proof. exact (along_drawn V T d FS (on_fold d) M on_fold_edge). Qed.
Lemma is_in_ok : forall t, is_in T t = true -> In t T.
Proof. intros t H. apply existsb_exists in H. destruct H as (u & Hu & Q). apply tr_eqb_iff in Q. now subst. Qed.
Lemma crossed_walk : forall l t u acc v acc', walk V T d t u acc -> crossed T FS u l acc = Some (v, acc') ->
  walk V T d t v acc'.
Proof.
  induction l as [|[[i j] w] l IH]; intros t u acc v acc' W H; cbn [crossed] in H; [injection H as <- <-; exact W|].
  destruct (is_in T w && negb (tr_eqb u w) && negb (Nat.eqb i j) && has u i && has u j && has w i && has w j) eqn:Q;
    [|discriminate].
  rewrite !andb_true_iff, !negb_true_iff, !has_iff in Q.
  destruct Q as ((((((Q1 & Q2) & Q3) & Q4) & Q5) & Q6) & Q7). apply is_in_ok in Q1. apply Nat.eqb_neq in Q3.
  pose proof (walk_end V T d _ _ _ W) as Hu.
  assert (I : inner T u w i j) by (unfold inner; repeat (split; [first [assumption|intros ->;
    rewrite (proj2 (tr_eqb_iff w w) eq_refl) in Q2; discriminate]|]); assumption).
  eapply IH; [|exact H]. destruct (edge_in i j FS) eqn:Ef.
  - apply edge_in_ok in Ef.
    destruct Ef as [Ef|Ef]; destruct (fold_step n q E alpha S0 den pts D cs Hn Hroot HS HE Hden Ch _ _ Ef) as
      (a & b & k & Ic & F & A & B & _);
     (eapply (walk_fold V T d t u w i j (V a) (V b) k acc W I); [apply in_map_iff; exists (a, b, k);
       auto|exact F|assumption|assumption]).
  - apply (walk_flat V T d t u w i j (1 / 2) acc W I); [lra|]. intro Hf.
    rewrite (along_edge u i j (1 / 2) Hu Q4 Q5 Q3 ltac:(lra) Hf) in Ef. discriminate.
Qed.
Definition hval (p : hp) : pt := let '(x, y, w) := p in (val alpha x / (val alpha w * den),
  val alpha y / (val alpha w * den)).
Definition hpos (p : hp) := 0 < val alpha (snd p).
Lemma mirror_ok : forall i j p, V i <> V j -> hpos p -> hpos (mirror n q (pts i) (pts j) p) /\
  hval (mirror n q (pts i) (pts j) p) = reflect (V i) (V j) (hval p).
Proof.
  intros i j [[x y] w] N Hw. unfold hpos in *. cbn [snd] in Hw.
  set (dx := val alpha (fst (pts j)) - val alpha (fst (pts i))).
  set (dy := val alpha (snd (pts j)) - val alpha (snd (pts i))).
  assert (P : 0 < dx * dx + dy * dy).
  { destruct (Rle_lt_or_eq_dec 0 (dx * dx + dy * dy)) as [L|L]; auto; [apply Rplus_le_le_0_compat; apply Rle_0_sqr|].
    exfalso. apply N. symmetry in L. destruct (Rplus_sqr_eq_0 dx dy L) as [X Y].
    unfold MeshCheck.place, rp, dx, dy in *. f_equal; f_equal; lra. }
  unfold mirror; cbn [snd]. split.
  - rewrite (val_mul n q alpha Hroot), (val_add alpha), !(val_mul n q alpha Hroot), !(val_sub alpha) by auto.
    fold dx dy. now apply Rmult_lt_0_compat.
  - unfold hval, reflect, left, MeshCheck.place, rp; cbn [fst snd].
    rewrite !(val_add alpha), !(val_sub alpha), !(val_scale alpha), !(val_mul n q alpha Hroot), !(val_add alpha),
      !(val_sub alpha), !(val_mul n q alpha Hroot), !(val_sub alpha), !(val_mul n q alpha Hroot) by auto.
    fold dx dy. set (ax := val alpha (fst (pts i))) in *. set (ay := val alpha (snd (pts i))) in *.
    replace (val alpha (fst (pts j))) with (ax + dx) by (unfold dx, ax; ring).
    replace (val alpha (snd (pts j))) with (ay + dy) by (unfold dy, ay; ring).
    clearbody dx dy ax ay. f_equal; field; repeat split; try lra; nra.
Qed.
Lemma mirrored_ok : forall l p, (forall i j, In (i, j) l -> V i <> V j) -> hpos p ->
  hpos (mirrored n q pts l p) /\ hval (mirrored n q pts l p) = reflected V l (hval p).
Proof.
  induction l as [|[i j] l IH]; intros p N Hp; [split; auto|]. cbn [mirrored reflected].
  destruct (mirror_ok i j p (N i j (or_introl eq_refl)) Hp) as [A B].
  destruct (IH _ (fun x y I => N x y (or_intror I)) A) as [A' B'].
  split; auto. rewrite B', B. reflexivity.
Qed.
Lemma walk_edges : forall t u l, walk V T d t u l -> forall i j, In (i, j) l -> V i <> V j.
Proof.
  intros t u l W.
  induction W as [t Ht|t u v i j a b k l W IH I Hc Fk Si Sj|t u v i j m l W IH I Hm Nf]; intros x y Ixy;
    [destruct Ixy| |eauto].
  destruct Ixy as [Q|Q]; [|eauto]. injection Q as <- <-. destruct I as (Hu & _ & _ & Nij & Ci & Cj & _).
  apply (V_ne V T Ccw u); auto.
Qed.
Theorem walk_refutes : forall t l, check_walk n q E pts T FS t l = true -> ~ exists G, fold_map d G.
Proof.
  intros t l H. unfold check_walk in H. apply andb_true_iff in H. destruct H as [H1 H2]. apply is_in_ok in H1.
  destruct (crossed T FS t l []) as [[u acc]|] eqn:Cr; [|discriminate]. apply andb_true_iff in H2.
  destruct H2 as [H2 H3].
  apply tr_eqb_iff in H2. subst u. pose proof (crossed_walk l t t [] t acc (walk_self V T d t H1) Cr) as W.
  apply existsb_exists in H3. destruct H3 as (s & _ & Mv).
  apply (closure_refutes V T d t acc (hval (fst s, snd s, [1%Z])) M off_folds W). intro Q.
  assert (P1 : hpos (fst s, snd s, [1%Z])) by (unfold hpos; simpl; lra).
  destruct (mirrored_ok acc _ (walk_edges _ _ _ W) P1) as [P2 E2]. rewrite Q in E2.
  assert (Hv : hval (fst s, snd s, [1%Z]) = (val alpha (fst s) / den, val alpha (snd s) / den)) by (unfold hval; simpl;
    f_equal; field; lra).
  rewrite Hv in E2. clear Hv Q.
  unfold moved in Mv. destruct (mirrored n q pts acc (fst s, snd s, [1%Z])) as [[x y] w]. unfold hpos in P2.
  cbn [snd] in P2. unfold hval in E2. apply pair_equal_spec in E2. destruct E2 as [Ex Ey].
  assert (Zx : val alpha x - val alpha (fst s) * val alpha w = 0).
  { replace (val alpha x) with (val alpha x / (val alpha w * den) * (val alpha w * den)) by (field; lra). rewrite Ex.
    field. lra. }
  assert (Zy : val alpha y - val alpha (snd s) * val alpha w = 0).
  { replace (val alpha y) with (val alpha y / (val alpha w * den) * (val alpha w * den)) by (field; lra). rewrite Ey.
    field. lra. }
  pose proof (sgn_ok alpha S0 HS E (sub x (mul n q (fst s) w)) HE) as Sx.
  pose proof (sgn_ok alpha S0 HS E (sub y (mul n q (snd s) w)) HE) as Sy.
  rewrite (val_sub alpha), (val_mul n q alpha Hroot) in Sx, Sy by auto.
  apply orb_true_iff in Mv.
  destruct Mv as [Mv|Mv]; [destruct (sgn E (sub x _))|destruct (sgn E (sub y _))]; try discriminate; lra.
Qed.
End Sound.
(* the checker of refutations of this kind *)
Section Top.
Variables (D : document) (c : certificate) (t : tr) (l : list (nat * nat * tr)).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f).
Notation D' := (renumber (vertex c) D).
Definition check_closure := field_ok f && check_points D c && check_sheet D c &&
  chains n q E (pts c) (map fst (w_creases D')) (crease_chains c) &&
  forallb (fun e => existsb (fun u => has u (fst e) && has u (snd e)) (tris c))
    (fold_steps (w_creases D') (crease_chains c)) &&
  check_walk n q E (pts c) (tris c) (fold_steps (w_creases D') (crease_chains c)) t l.
End Top.
Theorem closure_sound : sound_refuted (certificate * (tr * list (nat * nat * tr))) (fun D x =>
  check_closure D (fst x) (fst (snd x)) (snd (snd x))).
Proof.
  intros D [c [t l]] H d Md (F & above & Hf & _). cbn [fst snd] in H. unfold check_closure in H.
  rewrite !andb_true_iff in H. destruct H as (((((H0 & H1) & H2) & H3) & H4) & H5).
  destruct (field_sound _ H0) as (Hn & alpha & Hr & HE). pose proof (points_ok D c alpha Hn Hr HE H1) as Mp.
  rewrite (means_one D d _ Md Mp) in Hf. destruct (sheet_ok D c alpha Hn Hr HE H2) as [M _].
  refine (walk_refutes (degree (its_field c)) (red (its_field c)) (powers (its_field c)) alpha (size (its_field c))
    (IZR (Zpos (den c))) (pts c) (tris c) (renumber (vertex c) D) (crease_chains c) Hn Hr (size_pos _) HE (pos_pos _) M
    H3 _ t l H5 _).
  - intros x y I. rewrite forallb_forall in H4. specialize (H4 _ I). cbn [fst snd] in H4. apply existsb_exists in H4.
    destruct H4 as (u & Hu & Q). apply andb_true_iff in Q. rewrite !has_iff in Q. exists u. tauto.
  - exists F. exact Hf.
Qed.
