(* Edges whose images share a segment, and the faces beside them. Two edges' chords cross on the circle of layers (the
   kernel's check of a layer order) just if the number of pairs, a face of each on one side of the line, of which the
   first is above the second, is odd (its reasons against one); what that says of folds and of flat edges; and the walk
   round the circle, which takes up a chord that comes again, and finds all that cross. *)
Require Import ZArith Arith Bool List Lia.
Import ListNotations.
Open Scope Z_scope.

(* A face beside an edge: whether it lies on the left of the line, and its height among the layers there. *)
Record side_face := face { on_left : bool; height : Z }.

(* Where it stands on the circle: on the left upwards, then on the right downwards; all heights are below `top`. *)
Definition place (top : Z) (x : side_face) : Z := if on_left x then height x else 2 * top - height x.

(* Whether a place lies between two others. *)
Definition between (p q r : Z) : bool := xorb (p <? r) (q <? r).

(* The chord from x to x' and that from y to y' cross: just one end of the second lies between those of the first. *)
Definition cross (top : Z) (x x' y y' : side_face) : bool :=
  xorb (between (place top x) (place top x') (place top y)) (between (place top x) (place top x') (place top y')).

(* Whether x and y lie on one side, and x is above y. *)
Definition above (x y : side_face) : bool := eqb (on_left x) (on_left y) && (height y <? height x).

(* Whether an odd number of faces of one edge is above a face of the other. *)
Definition odd (x x' y y' : side_face) : bool :=
  xorb (xorb (above x y) (above x y')) (xorb (above x' y) (above x' y')).

(* Two faces are not at one height on one side. *)
Definition apart (x y : side_face) : Prop := on_left x = on_left y -> height x <> height y.

Ltac by_cases :=
  repeat match goal with |- context [?a <? ?b] => destruct (Z.ltb_spec a b) end; cbn [xorb andb];
  try reflexivity; exfalso; lia.

Theorem cross_is_odd : forall top x x' y y',
  height x < top -> height x' < top -> height y < top -> height y' < top ->
  apart x y -> apart x y' -> apart x' y -> apart x' y' -> cross top x x' y y' = odd x x' y y'.
Proof.
  intros top [s h] [s' h'] [t k] [t' k']. unfold apart, cross, odd, between, above, place; cbn [on_left height].
  destruct s, s', t, t'; cbn [eqb andb]; intros B1 B2 B3 B4 A1 A2 A3 A4;
    repeat match goal with
    | H : true = true -> _ |- _ => specialize (H eq_refl)
    | H : false = false -> _ |- _ => specialize (H eq_refl)
    | H : true = false -> _ |- _ => clear H
    | H : false = true -> _ |- _ => clear H
    end; by_cases.
Qed.

(* Two folds on one side: crossed is that just one face of the second lies between those of the first. *)
Theorem two_folds : forall s h h' k k', h <> k -> h <> k' -> h' <> k -> h' <> k' ->
  odd (face s h) (face s h') (face s k) (face s k') = xorb (between h h' k) (between h h' k').
Proof. intros [] h h' k k' A1 A2 A3 A4; unfold odd, above, between; cbn [on_left height eqb andb negb]; by_cases. Qed.

(* A fold and a flat edge: that the flat edge's face on the fold's side lies between those of the fold. *)
Theorem fold_and_flat : forall s h h' k k', h <> k -> h' <> k ->
  odd (face s h) (face s h') (face s k) (face (negb s) k') = between h h' k.
Proof. intros [] h h' k k' A1 A2; unfold odd, above, between; cbn [on_left height eqb andb negb]; by_cases. Qed.

(* Two flat edges: that the first is above the second on one side, and below it on the other. *)
Theorem two_flat : forall s h h' k k',
  odd (face s h) (face (negb s) h') (face s k) (face (negb s) k') = xorb (k <? h) (k' <? h').
Proof. intros [] h h' k k'; unfold odd, above; cbn [on_left height eqb andb negb]; by_cases. Qed.

(* Two folds on different sides never cross. *)
Theorem folds_opposite : forall s h h' k k',
  odd (face s h) (face s h') (face (negb s) k) (face (negb s) k') = false.
Proof. intros [] h h' k k'; unfold odd, above; reflexivity. Qed.

(* The walk round the circle: each chord is put down, but the last one put down is taken up if it comes again. *)
Close Scope Z_scope.
Fixpoint walk (down circle : list nat) : list nat :=
  match circle, down with
  | [], _ => down
  | e :: rest, last :: others => if last =? e then walk others rest else walk (e :: down) rest
  | e :: rest, [] => walk [e] rest
  end.

(* The first list is what is left of the second without some of its members. *)
Inductive within : list nat -> list nat -> Prop :=
  | within_nil : forall w, within [] w
  | within_both : forall x v w, within v w -> within (x :: v) (x :: w)
  | within_one : forall x v w, within v w -> within v (x :: w).

Lemma within_in : forall x v w, within (x :: v) w -> In x w.
Proof.
  intros x v w H. remember (x :: v) as u eqn:E. induction H; [discriminate| |right; auto].
  injection E as -> _. now left.
Qed.

Lemma within_tail : forall x v w, within (x :: v) w -> within v w.
Proof.
  intros x v w H. remember (x :: v) as u eqn:E. induction H; [discriminate| |apply within_one; auto].
  injection E as _ ->. now apply within_one.
Qed.

Lemma within_other : forall x v y w, within (x :: v) (y :: w) -> x <> y -> within (x :: v) w.
Proof. intros x v y w H N. inversion H; subst; [now elim N|assumption]. Qed.

Lemma within_after : forall x v u w, within (x :: v) (u ++ w) -> ~ In x u -> within (x :: v) w.
Proof.
  intros x v u w. induction u as [|y u IH]; simpl; intros H N; [exact H|].
  apply IH; [|tauto]. apply (within_other x v y); [exact H|]. intros ->. tauto.
Qed.

Lemma within_prefix : forall v u w, within (v ++ u) w -> within v w.
Proof.
  intros v u w H. remember (v ++ u) as p eqn:E. revert v E.
  induction H as [w|x p w H IH|x p w H IH]; intros v E.
  - destruct v; [constructor|discriminate].
  - destruct v as [|y v]; [constructor|]. injection E as -> E. apply within_both. exact (IH v E).
  - apply within_one. exact (IH v E).
Qed.

Lemma within_without : forall t v w, within v w -> ~ In t v -> within v (remove Nat.eq_dec t w).
Proof.
  intros t v w H. induction H as [w|x v w H IH|x v w H IH]; simpl; intro N; [constructor| |].
  - destruct (Nat.eq_dec t x) as [->|D]; [now elim N; left|]. apply within_both. tauto.
  - destruct (Nat.eq_dec t x); [tauto|]. apply within_one. tauto.
Qed.

Lemma without_within : forall t v w, within v (remove Nat.eq_dec t w) -> within v w.
Proof.
  intros t v w. revert v. induction w as [|x w IH]; simpl; intros v H; [exact H|].
  destruct (Nat.eq_dec t x); [now apply within_one, IH|].
  inversion H; subst; [constructor|now apply within_both, IH|now apply within_one, IH].
Qed.

(* Round the circle the chords c and d cross if one comes, the other, the first again, and the other again. *)
Definition crossed (w : list nat) : Prop := exists c d, c <> d /\ within [c; d; c; d] w.

Lemma neighbours : forall t d u w, ~ In t u -> ~ In t w -> d <> t -> ~ within [t; d; t] (u ++ t :: t :: w).
Proof.
  intros t d u w U W D H. apply within_after in H; [|exact U]. inversion H as [|x v w' H'|x v w' H']; subst.
  - apply within_other in H'; [|exact D]. apply W. exact (within_in _ _ _ (within_tail _ _ _ H')).
  - inversion H' as [|x v w' H''|x v w' H'']; subst.
    + apply W. exact (within_in _ _ _ (within_tail _ _ _ H'')).
    + apply W. exact (within_in _ _ _ H'').
Qed.

Lemma taken_up : forall t u w, ~ In t u -> ~ In t w -> crossed (u ++ t :: t :: w) -> crossed (u ++ w).
Proof.
  intros t u w U W (c & d & D & H). exists c, d. split; [exact D|]. destruct (Nat.eq_dec c t) as [->|C].
  - exfalso. apply (neighbours t d u w U W); [congruence|].
    exact (within_prefix [t; d; t] [d] _ H).
  - destruct (Nat.eq_dec d t) as [->|E].
    + exfalso. apply (neighbours t c u w U W C). exact (within_tail _ _ _ H).
    + apply (within_without t) in H; [|simpl; intuition congruence]. apply (without_within t).
      rewrite remove_app in *. simpl in H. now destruct (Nat.eq_dec t t).
Qed.

(* Chords come twice each: if the walk has taken all up, none cross. *)
Lemma walk_from : forall circle down,
  (forall e, count_occ Nat.eq_dec (rev down ++ circle) e <= 2) -> walk down circle = [] ->
  ~ crossed (rev down ++ circle).
Proof.
  induction circle as [|e rest IH]; intros down Twice H.
  - simpl in H. subst. intros (c & d & _ & A). simpl in A. inversion A.
  - assert (Push : walk (e :: down) rest = [] -> ~ crossed (rev down ++ e :: rest)).
    { intro A. specialize (IH (e :: down)). simpl in IH. rewrite <- app_assoc in IH. simpl in IH. now apply IH. }
    simpl in H. destruct down as [|last others]; [now apply Push|].
    destruct (Nat.eqb_spec last e) as [->|N]; [|now apply Push].
    simpl in *. rewrite <- app_assoc in *. simpl in *. intro C.
    assert (None : ~ In e (rev others) /\ ~ In e rest).
    { pose proof (Twice e) as T. rewrite count_occ_app in T. simpl in T. destruct (Nat.eq_dec e e); [|congruence].
      rewrite !(count_occ_In Nat.eq_dec). lia. }
    apply (taken_up e) in C; try tauto. revert C. apply IH; [|exact H]. intro x. specialize (Twice x).
    rewrite !count_occ_app in *. simpl in Twice. destruct (Nat.eq_dec e x); lia.
Qed.

Theorem walk_finds_crossings : forall circle,
  (forall e, count_occ Nat.eq_dec circle e <= 2) -> walk [] circle = [] -> ~ crossed circle.
Proof. intros circle Twice H. exact (walk_from circle [] Twice H). Qed.
