(* The boundary of the triangles is, mod 2, the boundary of the document: sort, and cancel equal edges in pairs. *)
Require Import Reals List Bool Lra Permutation Arith Mergesort Orders Lia. Require Import Statement Cross Cover Split.
Import ListNotations.
Open Scope R_scope.
Module EdgeOrder <: TotalLeBool.
  Definition t := (nat * nat)%type.
  Definition leb (x y : t) := if Nat.eqb (fst x) (fst y) then Nat.leb (snd x) (snd y) else Nat.ltb (fst x) (fst y).
  Theorem leb_total : forall x y, leb x y = true \/ leb y x = true.
  Proof.
    intros [a b] [c d]. unfold leb; simpl. rewrite (Nat.eqb_sym c a). destruct (Nat.eqb_spec a c) as [E|E].
    - rewrite !Nat.leb_le. lia. - rewrite !Nat.ltb_lt. lia.
  Qed.
End EdgeOrder.
Module ES := Sort EdgeOrder.
Definition norm (e : nat * nat) := if Nat.leb (fst e) (snd e) then e else (snd e, fst e).
Fixpoint cancel (l : list (nat * nat)) : bool := match l with
  | [] => true | [_] => false
  | x :: (y :: r) => Nat.eqb (fst x) (fst y) && Nat.eqb (snd x) (snd y) && cancel r end.
Definition even_edges (l : list (nat * nat)) := cancel (ES.sort (map norm l)).
Section Sound.
Variable V : nat -> pt.
Definition place (e : nat * nat) := (V (fst e), V (snd e)).
Lemma odd_perm : forall l m p, Permutation l m -> odd l p = odd m p.
Proof.
  induction 1; simpl; auto.
  - now rewrite IHPermutation. - rewrite <- !xorb_assoc. f_equal. apply xorb_comm. - congruence.
Qed.
Lemma cancel_odd : forall k l p, (length l <= k)%nat -> cancel l = true -> odd (map place l) p = false.
Proof.
  induction k as [|k IH]; intros l p L H; [destruct l; simpl in *; auto; lia|].
  destruct l as [|[a b] [|[c d] r]]; simpl in *; auto; [discriminate|].
  rewrite !andb_true_iff, !Nat.eqb_eq in H. destruct H as ((-> & ->) & H).
  rewrite <- xorb_assoc, xorb_nilpotent, xorb_false_l. apply IH; auto. lia.
Qed.
Lemma norm_odd : forall l p, odd (map place (map norm l)) p = odd (map place l) p.
Proof.
  induction l as [|[a b] l IH]; intro p; [reflexivity|]. cbn [map odd fold_right] in *. unfold odd in *.
  cbn [fold_right]. rewrite IH. f_equal.
  unfold norm, place; simpl. destruct (Nat.leb a b); simpl; auto. apply passes_sym.
Qed.
Theorem even_sound : forall l m p, even_edges (l ++ m) = true -> odd (map place l) p = odd (map place m) p.
Proof.
  intros l m p H. unfold even_edges in H.
  apply cancel_odd with (p := p) (k := length (ES.sort (map norm (l ++ m)))) in H; auto.
  rewrite <- (odd_perm (map place (map norm (l ++ m)))) in H by (apply Permutation_map, ES.Permuted_sort).
  rewrite norm_odd, map_app, odd_app in H. now apply xorb_eq.
Qed.
End Sound.
