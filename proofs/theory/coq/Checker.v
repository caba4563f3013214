(* THE CHECKER: what it accepts is true of the document as it is written. *)
Require Import Reals QArith List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Cut Top Number MeshCheck Mesh Chain FoldCheck
  LayerCheck CutCheck Field Evaluate.
Import ListNotations.
Open Scope R_scope.
Record certificate := Certificate {
  its_field : field; known : expr -> option frac;      (* values of roots and reciprocals *)
  den : positive; pts : nat -> kp; img : nat -> kp;    (* vertices, flat and folded: numerators over one denominator *)
  tris : list tr; vertex : nat -> nat;                 (* the vertex at which a named point lies *)
  sheet_chains : list (list nat); crease_chains : list (list nat); target_chains : list (list nat);
  rank : nat -> Z; flip : nat -> nat -> bool;          (* of faces: the place in the stack, and the exceptions to it *)
  cuts_along : list (nat * nat) }.                     (* the snips, by vertices: one line, or several segments *)
Definition renumber (r : nat -> nat) (D : document) : document :=
  Document (w_points D) (map (map r) (w_loops D)) (map (fun c => (r (fst (fst c)), r (snd (fst c)), snd c))
    (w_creases D))
    (map (map r) (w_target_loops D)) (map (map r) (w_target_paths D)) (w_snips D).
Fixpoint nodupb (l : list (nat * nat)) : bool := match l with
  | [] => true | e :: r => negb (existsb (fun x => Nat.eqb (fst e) (fst x) && Nat.eqb (snd e) (snd x)) r) &&
    nodupb r end.
Section Bool.
Variables (D : document) (c : certificate).
Notation n := (degree (its_field c)). Notation q := (red (its_field c)). Notation E := (powers (its_field c)).
Notation D' := (renumber (vertex c) D).
Notation ev := (eval n q E (known c)).
Definition valued (e : expr) := match ev e with Some _ => true | None => false end.
Definition at_vertex (i : nat) := match nth_error (w_points D) i with
  | Some (x, y) => match ev x, ev y with
      | Some a, Some b => feq E a (fst (pts c (vertex c i)), den c) && feq E b (snd (pts c (vertex c i)), den c)
      | _, _ => false end
  | None => false end.
Definition check_points := forallb (fun xy => valued (fst xy) && valued (snd xy)) (w_points D) &&
  forallb at_vertex (named D).
Definition check_sheet := chains n q E (pts c) (borders D') (sheet_chains c) &&
  check_mesh n q E (pts c) (img c) (tris c) &&
  even_edges (edges_of (tris c) ++ flat_map steps (sheet_chains c)) && nodupb (edges_of (tris c)).
Definition check_folded := check_folds n q E (pts c) (img c) (tris c) (w_creases D') (crease_chains c).
Definition check_order := check_layers n q E (img c) (tris c) (w_creases D') (crease_chains c) (rank c) (flip c).
Definition check_snips := match w_snips D with
  | O => true
  | S k => chains n q E (pts c) (goals D') (target_chains c) &&
      check_cut n q E (img c) (tris c) (Nat.eqb k 0) (cuts_along c) (flat_map steps (target_chains c)) &&
      (if Nat.eqb k 0 then Nat.eqb (length (cuts_along c)) 1 else Nat.leb (length (cuts_along c)) (S k)) end.
Definition check_certified := field_ok (its_field c) && check_points && check_sheet && check_folded && check_order &&
  check_snips.
End Bool.

Lemma combine_map : forall A B (f : A -> B) x y, combine (map f x) (map f y) = map (fun e => (f (fst e), f (snd e)))
  (combine x y).
Proof. induction x as [|u x IH]; intros [|v y]; simpl; auto. now rewrite IH. Qed.
Lemma around_map : forall A B (f : A -> B) l, around (map f l) = map (fun e => (f (fst e), f (snd e))) (around l).
Proof.
  intros A B f [|a l]; [reflexivity|]. unfold around. change (map f (a :: l)) with (f a :: map f l). cbv iota.
  change (f a :: map f l) with (map f (a :: l)). rewrite <- combine_map, map_app. reflexivity.
Qed.
Lemma flat_map_map2 : forall A B C (f : A -> B) (g : B -> list C) l, flat_map g (map f l) = flat_map (fun x => g (f x))
  l.
Proof. induction l; simpl; congruence. Qed.
Lemma map_flat_map : forall A B C (f : B -> C) (g : A -> list B) l, map f (flat_map g l) = flat_map (fun x =>
  map f (g x)) l.
Proof. induction l; simpl; auto. now rewrite map_app, IHl. Qed.
Lemma flat_map_ext2 : forall A B (f g : A -> list B) l, (forall x, f x = g x) -> flat_map f l = flat_map g l.
Proof. induction l; simpl; intros; auto. rewrite H, IHl; auto. Qed.
Lemma goals_renumber : forall r D, goals (renumber r D) = map (fun e => (r (fst e), r (snd e))) (goals D).
Proof.
  intros r D. unfold goals, renumber; simpl. rewrite map_app, !flat_map_map2, !map_flat_map.
  f_equal; apply flat_map_ext2; intro x.
  - apply around_map. - rewrite <- combine_map. destruct x; reflexivity.
Qed.
Lemma outline_sides : forall D P, outline (doc_at D P) = map (Parity.place P) (borders D).
Proof.
  intros. unfold outline, borders, doc_at; simpl. rewrite flat_map_map2, map_flat_map. apply flat_map_ext2. intro l.
  apply around_map.
Qed.
Lemma doc_renumber : forall D P V r, (forall i, In i (named D) -> P i = V (r i)) ->
  doc_at D P = doc_at (renumber r D) V.
Proof.
  intros D P V r H. unfold doc_at. rewrite goals_renumber. unfold renumber; cbn [w_loops w_creases]. rewrite !map_map.
  f_equal.
  - apply map_ext_in. intros l Hl. rewrite map_map. apply map_ext_in. intros i Hi. apply H. unfold named.
    apply in_or_app. left. apply in_concat. eauto.
  - apply map_ext_in. intros [[i j] k] Hc. cbn [fst snd].
    rewrite (H i), (H j); auto; unfold named; apply in_or_app; right; apply in_or_app; left; apply in_flat_map;
      exists (i, j, k); simpl; auto.
  - apply map_ext_in. intros [i j] Hc. cbn [fst snd].
    rewrite (H i), (H j); auto; unfold named; apply in_or_app; right; apply in_or_app; right; apply in_flat_map;
      exists (i, j); simpl; auto.
Qed.
Lemma nodupb_ok : forall l, nodupb l = true -> NoDup l.
Proof.
  induction l as [|[a b] l IH]; intro H; constructor; simpl in H; apply andb_true_iff in H; destruct H as [H1 H2]; auto.
  intro I. apply negb_true_iff in H1.
  assert (X : existsb (fun x => Nat.eqb a (fst x) && Nat.eqb b (snd x)) l = true) by (apply existsb_exists;
    exists (a, b); simpl; rewrite !Nat.eqb_refl; auto).
  simpl in *. congruence.
Qed.
Section Sound.
Variables (D : document) (c : certificate) (alpha : R).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f).
Notation D' := (renumber (vertex c) D).
Notation dn := (IZR (Zpos (den c))). Notation ev := (eval n q E (known c)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HE : enc_ok alpha (size f) 0 E).
Notation V := (MeshCheck.place alpha dn (pts c)). Notation W := (MeshCheck.place alpha dn (img c)).
Notation HS := (size_pos f). Notation Hden := (pos_pos (den c)).
Definition value e := match ev e with Some x => fval alpha x | None => 0 end.
Definition P i : pt := match nth_error (w_points D) i with Some (x, y) => (value x, value y) | None => (0, 0) end.
Lemma points_ok : check_points D c = true -> means D (doc_at D' V).
Proof.
  intro H. unfold check_points in H. apply andb_true_iff in H. destruct H as [H1 H2]. rewrite forallb_forall in H1, H2.
  assert (At : forall i, In i (named D) -> (i < length (w_points D))%nat /\ P i = V (vertex c i)).
  { intros i Hi. specialize (H2 i Hi). unfold at_vertex in H2. unfold P.
    destruct (nth_error (w_points D) i) as [[x y]|] eqn:Q; [|discriminate].
    split; [apply nth_error_Some; congruence|]. unfold value. destruct (ev x) as [a|]; [|discriminate].
    destruct (ev y) as [b|]; [|discriminate]. apply andb_true_iff in H2. destruct H2 as [A B].
    apply (feq_ok E alpha (size f) HS HE) in A, B. rewrite A, B. reflexivity. }
  split; [intros i Hi; now apply At|]. exists P. split.
  - intros i x y Q. unfold P. rewrite Q. pose proof (nth_error_In _ _ Q) as I. specialize (H1 _ I). cbn [fst snd] in H1.
    apply andb_true_iff in H1. destruct H1 as [A B]. unfold valued in A, B. cbn [fst snd]. unfold value.
    destruct (ev x) as [a|] eqn:Ea; [|discriminate]. destruct (ev y) as [b|] eqn:Eb; [|discriminate].
    split; eapply (eval_ok n q E (known c) alpha (size f)); eauto using size_pos.
  - symmetry. apply doc_renumber. intros i Hi. now apply At.
Qed.
Lemma sheet_ok : check_sheet D c = true -> mesh V (tris c) (doc_at D' V) /\ forall t, In t (tris c) -> congr V W t.
Proof.
  intro H. unfold check_sheet in H. rewrite !andb_true_iff in H. destruct H as (((H1 & H2) & H3) & H4). split.
  - apply (mesh_of_check n q E alpha (size f) dn (pts c) (img c) (tris c) _ Hn Hroot HS HE Hden
      (flat_map steps (sheet_chains c))); auto; [now apply nodupb_ok|].
    intro p. rewrite outline_sides. apply (chains_odd n q E alpha (size f) dn (pts c) Hn Hroot HS HE Hden); auto.
  - intros t Ht.
    exact (proj2 (proj1 (mesh_sound n q E alpha (size f) dn (pts c) (img c) Hn Hroot HS HE Hden _ H2) t Ht)).
Qed.
Lemma cut_ext : forall d F S S', (forall p, S p <-> S' p) -> cut_by d F S -> cut_by d F S'.
Proof. intros d F S S' H [A B]. split; auto. intros p Hp. rewrite <- H. auto. Qed.
Theorem certified_at : check_points D c = true -> check_sheet D c = true -> check_folded D c = true ->
  check_order D c = true -> check_snips D c = true ->
  exists d, means D d /\ holds D d.
Proof.
  intros H1 H2 H3 H4 H5. exists (doc_at D' V). split; [now apply points_ok|]. destruct (sheet_ok H2) as [M Cg].
  assert (Ch : chains n q E (pts c) (map fst (w_creases D')) (crease_chains c) = true) by
    (unfold check_folded, check_folds in H3; cbv zeta in H3; rewrite !andb_true_iff in H3; tauto).
  pose proof (folds_of_check n q E alpha (size f) dn (pts c) (img c) (tris c) D' (crease_chains c) Hn Hroot HS HE Hden M
    Cg Ch H3) as Fo.
  pose proof (layers_of_check n q E alpha (size f) dn (pts c) (img c) (tris c) D' (crease_chains c) (rank c) (flip c) Hn
    Hroot HS HE Hden M Fo
    (step_edges n q E (pts c) (img c) (tris c) D' (crease_chains c) H3) Ch H4) as La.
  exists (F V W (tris c)), (Layers.above V (tris c) (fun t s => gt (rank c) (flip c) t s = true)).
  split; [exact (its_fold_map V W (tris c) _ M Fo)|split; [exact (its_layer_order V W (tris c) _ M Fo _ La)|]].
  unfold check_snips in H5. destruct (w_snips D) as [|k] eqn:Sk; [split; intro X; [discriminate X|inversion X]|].
  rewrite !andb_true_iff in H5. destruct H5 as ((G1 & G2) & G3).
  pose proof (cuts_of_check n q E alpha (size f) dn (pts c) (img c) (tris c) D' (target_chains c) (Nat.eqb k 0)
    (cuts_along c) Hn Hroot HS HE Hden M Fo G1 G2) as Cu.
  pose proof (its_cut V W (tris c) _ M _ Cu) as By.
  assert (Ne : forall a b, In (a, b) (cuts_along c) -> W a <> W b).
  { intros a b I. unfold check_cut in G2. cbv zeta in G2. apply andb_true_iff in G2. destruct G2 as [G2 _].
    rewrite forallb_forall in G2. specialize (G2 _ I). cbv beta iota in G2. rewrite !andb_true_iff in G2.
    destruct G2 as (((G2 & _) & _) & _). apply (dot_pos n q E alpha (size f) dn Hn Hroot HS HE Hden) in G2. intro X.
    unfold dotp, MeshCheck.place in *. rewrite X in G2. lra. }
  destruct k as [|k]; cbn [Nat.eqb] in *.
  - split; [intros _|intro X; inversion X; inversion H0]. apply Nat.eqb_eq in G3.
    destruct (cuts_along c) as [|[a b] [|]] eqn:Ql; try discriminate. exists (lineof (W a) (W b)). split.
    + unfold proper, lineof. intro X. apply (Ne a b); [now left|]. set (x := fst (W b) - fst (W a)) in *.
      set (y := snd (W b) - snd (W a)) in *.
      assert (Z : x * x + y * y = 0) by (unfold x, y in *; lra). destruct (Rplus_sqr_eq_0 x y Z) as [Zx Zy].
      unfold x, y in Zx, Zy. destruct (W a), (W b); simpl in *. f_equal; lra.
    + apply (cut_ext _ _ (blade alpha dn (img c) true [(a, b)])); [|exact By]. intro p. rewrite lineof_on.
      unfold blade, met.
      split; [intros (x & y & [I|[]] & Z); injection I as -> ->; exact Z|intro Z; exists a, b; split;
        [now left|exact Z]].
  - split; [intro X; discriminate X|intros _]. exists (map (fun ab => (W (fst ab), W (snd ab))) (cuts_along c)).
    split; [rewrite map_length; now apply Nat.leb_le|split].
    + intros x y I. apply in_map_iff in I. destruct I as ([a b] & Q & I). cbn [fst snd] in Q. injection Q as <- <-.
      now apply Ne.
    + apply (cut_ext _ _ (blade alpha dn (img c) false (cuts_along c))); [|exact By]. intro p.
      unfold blade, met, on_snips. split.
      * intros (a & b & I & Z). exists (W a), (W b). split; auto. apply in_map_iff. exists (a, b). auto.
      * intros (x & y & I & Z). apply in_map_iff in I. destruct I as ([a b] & Q & I). cbn [fst snd] in Q.
        injection Q as <- <-. eauto.
Qed.
End Sound.
Theorem certified_sound : sound_certified certificate check_certified.
Proof.
  intros D c H. unfold check_certified in H. rewrite !andb_true_iff in H.
  destruct H as (((((H0 & H1) & H2) & H3) & H4) & H5).
  destruct (field_sound _ H0) as (Hn & alpha & Hr & HE). exact (certified_at D c alpha Hn Hr HE H1 H2 H3 H4 H5).
Qed.
