(* A tree over the triangles: every triangle is reached from one, so the fold map is the only one. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Top Number MeshCheck Mesh Chain FoldCheck
  Field Evaluate Closure FoldMapUnique Checker ClosureCheck.
Import ListNotations.
Open Scope R_scope.
Section Bool.
Variables (D : document) (c : certificate).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f).
Notation D' := (renumber (vertex c) D). Notation T := (tris c).
Definition next_ok (u v : tr) (i j : nat) := is_in T v && negb (tr_eqb u v) && negb (Nat.eqb i j) && has u i &&
  has u j && has v i && has v j.
Fixpoint grown (seen : list tr) (l : list (nat * nat * (tr * tr))) : option (list tr) := match l with
  | [] => Some seen
  | ((i, j), (u, v)) :: r => if existsb (tr_eqb u) seen && next_ok u v i j then grown (v :: seen) r else None end.
Definition all_reached (t0 : tr) l := is_in T t0 && match grown [t0] l with Some seen =>
  forallb (fun t => existsb (tr_eqb t) seen) T | None => false end.
Variables (alpha : R).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HE : enc_ok alpha (size f) 0 E).
Notation dn := (IZR (Zpos (den c))). Notation V := (MeshCheck.place alpha dn (pts c)).
Notation W := (MeshCheck.place alpha dn (img c)). Notation d := (doc_at D' V).
Notation HS := (size_pos f). Notation Hden := (pos_pos (den c)).
Theorem only_fold_map : forall t0 l, check_sheet D c = true -> check_folded D c = true -> all_reached t0 l = true ->
  mesh V T d /\ folds V W T d /\ chains n q E (pts c) (map fst (w_creases D')) (crease_chains c) = true /\
    unique_fold d (F V W T).
Proof.
  intros t0 l H3 H4 H7. destruct (sheet_ok D c alpha Hn Hroot HE H3) as [M Cg].
  assert (Ch : chains n q E (pts c) (map fst (w_creases D')) (crease_chains c) = true) by
    (unfold check_folded, check_folds in H4; cbv zeta in H4; rewrite !andb_true_iff in H4; tauto).
  pose proof (folds_of_check n q E alpha (size f) dn (pts c) (img c) T D' (crease_chains c) Hn Hroot HS HE Hden M Cg Ch
    H4) as Fo.
  pose proof (step_edges n q E (pts c) (img c) T D' (crease_chains c) H4) as Ed.
  pose proof (off_folds n q E alpha (size f) dn (pts c) T D' (crease_chains c) Hn Hroot HS HE Hden M Ch Ed) as Off.
  assert (Step : forall u v i j lst, walk V T d t0 u lst -> next_ok u v i j = true ->
    exists lst', walk V T d t0 v lst').
  { intros u v i j lst Wk Q. eexists.
    apply (crossed_walk n q E alpha (size f) dn (pts c) T D' (crease_chains c) Hn Hroot HS HE Hden M Ch Ed [((i, j), v)]
      t0 u lst v _ Wk).
    cbn [crossed]. unfold next_ok in Q. rewrite Q. reflexivity. }
  assert (Grow : forall r seen seen', (forall u, In u seen -> exists lst, walk V T d t0 u lst) ->
    grown seen r = Some seen' -> forall u, In u seen' -> exists lst, walk V T d t0 u lst).
  { induction r as [|[[i j] [u v]] r IH]; intros seen seen' Hs Hg; cbn [grown] in Hg; [injection Hg as <-; exact Hs|].
    destruct (existsb (tr_eqb u) seen && next_ok u v i j) eqn:Q; [|discriminate]. apply andb_true_iff in Q.
    destruct Q as [Q1 Q2]. apply existsb_exists in Q1. destruct Q1 as (u' & Iu & Q1). apply tr_eqb_iff in Q1. subst u'.
    destruct (Hs u Iu) as (lst & Wk). refine (IH (v :: seen) seen' _ Hg).
    intros w [<-|Iw]; [exact (Step u v i j lst Wk Q2)|auto]. }
  unfold all_reached in H7. apply andb_true_iff in H7. destruct H7 as [H7 H7']. apply is_in_ok in H7.
  destruct (grown [t0] l) as [seen|] eqn:Gr; [|discriminate]. rewrite forallb_forall in H7'.
  assert (Reach : forall u, In u T -> exists lst, walk V T d t0 u lst).
  { intros u Hu. specialize (H7' u Hu). apply existsb_exists in H7'. destruct H7' as (u' & Iu & Q).
    apply tr_eqb_iff in Q. subst u'. apply (Grow l [t0] seen); auto. intros w [<-|[]]. exists []. now apply walk_self. }
  split; [exact M|split; [exact Fo|split; [exact Ch|]]].
  exact (fold_map_unique V T d (F V W T) t0 M Off H7 Reach (its_fold_map V W T d M Fo)).
Qed.
End Bool.
