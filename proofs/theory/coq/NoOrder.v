(* Clauses about which of two triangles is above, and what follows from them: no order satisfies them all. *)
Require Import List Bool Arith Lia. Require Import Paste FoldCheck.
Import ListNotations.
Definition lit := (tr * tr)%type.                 (* "the first is above the second" *)
Definition opp (l : lit) : lit := (snd l, fst l).
Definition lit_eqb (l m : lit) := tr_eqb (fst l) (fst m) && tr_eqb (snd l) (snd m).
Definition among (l : lit) := existsb (lit_eqb l).
(* the clauses that the hints number, in turn: each leaves one possible literal, the last none *)
Fixpoint conflict (cl : list (list lit)) (hints : list nat) (true_ : list lit) : bool := match hints with
  | [] => false
  | h :: r => match nth_error cl h with None => false | Some c => match filter (fun l => negb (among (opp l) true_)) c
    with
      | [] => true | [l] => conflict cl r (l :: true_) | _ => false end end end.
Fixpoint derive (known : lit -> bool) (cl : list (list lit)) (steps : list (list lit * list nat)) : bool :=
  match steps with
  | [] => false
  | (c, h) :: r => forallb known c && conflict cl h (map opp c) && match c with [] => true | _ =>
    derive known (cl ++ [c]) r end end.
Lemma lit_eqb_iff : forall l m, lit_eqb l m = true <-> l = m.
Proof.
  intros [a b] [a' b']. unfold lit_eqb; cbn [fst snd]. rewrite andb_true_iff, !tr_eqb_iff.
  split; [intros [-> ->]; auto|intro Q; injection Q; auto].
Qed.
Lemma among_iff : forall l ls, among l ls = true <-> In l ls.
Proof.
  intros l ls. unfold among. rewrite existsb_exists.
  split; [intros (m & I & Q); apply lit_eqb_iff in Q; now subst|intro I; exists l; split;
    [exact I|now apply lit_eqb_iff]].
Qed.
Section Sound.
Variables (gt : tr -> tr -> Prop) (known : lit -> bool).
Definition holds (l : lit) := gt (fst l) (snd l).
Definition clause_holds (c : list lit) := exists l, In l c /\ holds l.
Hypothesis Total : forall l, known l = true -> (holds l \/ holds (opp l)) /\ ~ (holds l /\ holds (opp l)).
Definition fair cl := forall c, In c cl -> clause_holds c /\ forallb known c = true.
Lemma conflict_ok : forall cl hints true_, fair cl -> (forall l, In l true_ -> holds l) ->
  conflict cl hints true_ = true -> False.
Proof.
  intros cl hints. induction hints as [|h r IH]; intros true_ Fair Hold H; [discriminate|]. cbn [conflict] in H.
  destruct (nth_error cl h) as [c|] eqn:Q; [|discriminate]. apply nth_error_In in Q.
  destruct (Fair c Q) as ((l & Il & Hl) & Kn).
  rewrite forallb_forall in Kn. assert (If : In l (filter (fun l => negb (among (opp l) true_)) c)).
  { apply filter_In. split; [exact Il|]. apply negb_true_iff. destruct (among (opp l) true_) eqn:A; [|reflexivity].
    apply among_iff in A. exfalso. apply (proj2 (Total l (Kn l Il))). split; [exact Hl|exact (Hold _ A)]. }
  destruct (filter _ c) as [|m [|]]; [destruct If| |discriminate]. destruct If as [<-|[]].
  apply (IH (m :: true_) Fair); [intros x [<-|I]; auto|exact H].
Qed.
Theorem derive_ok : forall steps cl, fair cl -> derive known cl steps = true -> False.
Proof.
  induction steps as [|[c h] r IH]; intros cl Fair H; [discriminate|]. cbn [derive] in H. rewrite !andb_true_iff in H.
  destruct H as ((Kn & Cf) & Rest). pose proof Kn as Kn'. rewrite forallb_forall in Kn.
  assert (Or : clause_holds c \/ forall l, In l (map opp c) -> holds l).
  { clear - Kn Total. induction c as [|l c IHc]; [right; intros l []|].
    destruct (proj1 (Total l (Kn l (or_introl eq_refl)))) as [A|A]; [left; exists l; split; [now left|exact A]|].
    destruct IHc as [(m & I & B)|B]; [intros m I; apply Kn; now right|left; exists m; split; [now right|exact B]|right;
      intros m [<-|I]; auto]. }
  destruct Or as [Or|Or]; [|exact (conflict_ok cl h _ Fair Or Cf)].
  destruct c as [|l c]; [destruct Or as (l & [] & _)|]. apply (IH (cl ++ [l :: c])); [|exact Rest].
  intros x I. apply in_app_or in I. destruct I as [I|[<-|[]]]; [now apply Fair|split; assumption].
Qed.
End Sound.
