(* The boolean check of refutations of one line: "apart" and, with a face for cell, "stray". *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia. Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Edge Cut Top Number MeshCheck Mesh Chain FoldCheck LayerCheck CutCheck Field Evaluate Closure FoldMapUnique NoCut Checker ClosureCheck.
Import ListNotations.
Open Scope R_scope.
Inductive fault := Apart (d e : nat * nat) | Astride (d : nat * nat) (u : tr) (k l : nat).
Section Bool.
Variables (D : document) (c : certificate).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f). Notation D' := (renumber (vertex c) D). Notation T := (tris c).
Definition next_ok (u v : tr) (i j : nat) := is_in T v && negb (tr_eqb u v) && negb (Nat.eqb i j) && has u i && has u j && has v i && has v j.
(* a tree over the triangles: each from one that was reached before *)
Fixpoint grown (seen : list tr) (l : list (nat * nat * (tr * tr))) : option (list tr) := match l with
  | [] => Some seen
  | ((i, j), (u, v)) :: r => if existsb (tr_eqb u) seen && next_ok u v i j then grown (v :: seen) r else None end.
Definition all_reached (t0 : tr) l := is_in T t0 && match grown [t0] l with Some seen => forallb (fun t => existsb (tr_eqb t) seen) T | None => false end.
Definition within e := existsb (fun x => let '(i, j, _, _) := x in Nat.eqb i (fst e) && Nat.eqb j (snd e)) (inners T).
Definition check_fault (ts : list (nat * nat)) (x : fault) := match x with
  | Apart d e => edge_in (fst d) (snd d) ts && edge_in (fst e) (snd e) ts && within d && within e &&
      strict (side_of n q E (line_of n q (img c (fst d)) (img c (snd d))) (img c (fst e)))
  | Astride d u k l => edge_in (fst d) (snd d) ts && within d && is_in T u && has u k && has u l &&
      ispos (side_of n q E (line_of n q (img c (fst d)) (img c (snd d))) (img c k)) && isneg (side_of n q E (line_of n q (img c (fst d)) (img c (snd d))) (img c l)) end.
Definition check_no_cut (t0 : tr) (l : list (nat * nat * (tr * tr))) (x : fault) := let ts := flat_map steps (target_chains c) in
  Nat.eqb (w_snips D) 1 && field_ok f && check_points D c && check_sheet D c && check_folded D c && chains n q E (pts c) (goals D') (target_chains c) &&
  forallb (fun e => existsb (fun t => has t (fst e) && has t (snd e)) T) ts && all_reached t0 l && check_fault ts x.
End Bool.
Theorem no_cut_sound : sound_refuted (certificate * (tr * list (nat * nat * (tr * tr)) * fault)) (fun D x => check_no_cut D (fst x) (fst (fst (snd x))) (snd (fst (snd x))) (snd (snd x))).
Proof.
  intros D [c [[t0 l] x]] H d Md (G & above & FG & LO & C1 & _). cbn [fst snd] in H. unfold check_no_cut in H. cbv zeta in H. rewrite !andb_true_iff in H.
  destruct H as ((((((((H0 & H1) & H2) & H3) & H4) & H5) & H6) & H7) & H8). apply Nat.eqb_eq in H0.
  destruct (field_sound _ H1) as (Hn & alpha & Hr & HE). pose proof (points_ok D c alpha Hn Hr HE H2) as Mp. rewrite (means_one D d _ Md Mp) in *. clear d Md. destruct (sheet_ok D c alpha Hn Hr HE H3) as [M Cg].
  set (n := degree (its_field c)) in *. set (q := red (its_field c)) in *. set (E := powers (its_field c)) in *. set (D' := renumber (vertex c) D) in *. set (T := tris c) in *. set (dn := IZR (Zpos (den c))) in *.
  pose proof (size_pos (its_field c)) as HS. pose proof (pos_pos (den c)) as Hden. fold dn in Hden. set (S0 := IZR (Zpos (scaled (its_field c)))) in *.
  set (V := MeshCheck.place alpha dn (pts c)) in *. set (W := MeshCheck.place alpha dn (img c)) in *. set (d := doc_at D' V) in *.
  assert (Ch : chains n q E (pts c) (map fst (w_creases D')) (crease_chains c) = true) by (unfold check_folded, check_folds in H4; cbv zeta in H4; rewrite !andb_true_iff in H4; tauto).
  pose proof (folds_of_check n q E alpha S0 dn (pts c) (img c) T D' (crease_chains c) Hn Hr HS HE Hden M Cg Ch H4) as Fo.
  pose proof (step_edges n q E (pts c) (img c) T D' (crease_chains c) H4) as Ed.
  pose proof (off_folds n q E alpha S0 dn (pts c) T D' (crease_chains c) Hn Hr HS HE Hden M Ch Ed) as Off.
  (* every triangle is reached *)
  assert (Step : forall u v i j lst, walk V T d t0 u lst -> next_ok c u v i j = true -> exists lst', walk V T d t0 v lst').
  { intros u v i j lst Wk Q. eexists. apply (crossed_walk n q E alpha S0 dn (pts c) T D' (crease_chains c) Hn Hr HS HE Hden M Ch Ed [((i, j), v)] t0 u lst v _ Wk). cbn [crossed]. unfold next_ok in Q. fold T in Q. rewrite Q. reflexivity. }
  assert (Grow : forall r seen seen', (forall u, In u seen -> exists lst, walk V T d t0 u lst) -> grown c seen r = Some seen' -> forall u, In u seen' -> exists lst, walk V T d t0 u lst).
  { induction r as [|[[i j] [u v]] r IH]; intros seen seen' Hs Hg; cbn [grown] in Hg; [injection Hg as <-; exact Hs|].
    destruct (existsb (tr_eqb u) seen && next_ok c u v i j) eqn:Q; [|discriminate]. apply andb_true_iff in Q. destruct Q as [Q1 Q2]. apply existsb_exists in Q1. destruct Q1 as (u' & Iu & Q1). apply tr_eqb_iff in Q1. subst u'.
    destruct (Hs u Iu) as (lst & Wk). refine (IH (v :: seen) seen' _ Hg). intros w [<-|Iw]; [exact (Step u v i j lst Wk Q2)|auto]. }
  unfold all_reached in H7. apply andb_true_iff in H7. destruct H7 as [H7 H7']. apply is_in_ok in H7. fold T in H7. destruct (grown c [t0] l) as [seen|] eqn:Gr; [|discriminate]. rewrite forallb_forall in H7'.
  assert (Reach : forall u, In u T -> exists lst, walk V T d t0 u lst).
  { intros u Hu. specialize (H7' u Hu). apply existsb_exists in H7'. destruct H7' as (u' & Iu & Q). apply tr_eqb_iff in Q. subst u'. apply (Grow l [t0] seen); auto. intros w [<-|[]]. exists []. now apply walk_self. }
  pose proof (fold_map_unique V T d (F V W T) t0 M Off H7 Reach (its_fold_map V W T d M Fo)) as Un.
  (* target edges *)
  assert (Tg : forall e m, edge_in (fst e) (snd e) (flat_map steps (target_chains c)) = true -> 0 < m < 1 -> on_target d (mid (V (fst e)) (V (snd e)) m)).
  { intros e m He Hm. apply (target_edge n q E alpha S0 dn (pts c) D' (target_chains c) Hn Hr HS HE Hden H5); auto; lra. }
  assert (Wi : forall e, within c e = true -> exists t t', inner T t t' (fst e) (snd e)).
  { intros e He. unfold within in He. apply existsb_exists in He. destruct He as ([[[i j] t] t'] & Ii & Q). rewrite andb_true_iff, !Nat.eqb_eq in Q. destruct Q as [<- <-]. exists t, t'. exact (inners_inner T t t' i j (m_ne V T d M) Ii). }
  assert (Sd : forall a b p, (ispos (side_of n q E (line_of n q (img c a) (img c b)) (img c p)) = true -> 0 < left (W a) (W b) (W p)) /\ (isneg (side_of n q E (line_of n q (img c a) (img c b)) (img c p)) = true -> left (W a) (W b) (W p) < 0) /\
     (strict (side_of n q E (line_of n q (img c a) (img c b)) (img c p)) = true -> left (W a) (W b) (W p) <> 0)).
  { intros a b p. pose proof (side_ok n q E alpha S0 dn Hn Hr HS HE Hden (img c a) (img c b) (img c p)) as X. unfold W, MeshCheck.place. destruct (side_of _ _ _ _ _); repeat split; intro; try discriminate; try lra; intro; lra. }
  assert (No : ~ cut_exact d (F V W T)).
  { destruct x as [e e'|e u k m]; cbn [check_fault] in H8; rewrite !andb_true_iff in H8.
    - destruct H8 as ((((A & B) & A') & B') & S). destruct (Wi e A') as (t & t' & I). destruct (Wi e' B') as (s & s' & J). apply Sd in S.
      exact (no_line_apart V W T d M t t' s s' _ _ _ _ I J (fun m Hm => Tg e m A Hm) (fun m Hm => Tg e' m B Hm) S).
    - destruct H8 as ((((((A & A') & Iu) & Ck) & Cm) & Pk) & Pm). destruct (Wi e A') as (t & t' & I). apply is_in_ok in Iu. fold T in Iu. apply has_iff in Ck, Cm. apply Sd in Pk. apply Sd in Pm.
      apply (no_line_stray V W T d M Fo t t' u _ _ k m I Iu Ck Cm (fun r Hr' => Tg e r A Hr')); auto.
      intros p Op (a & b & Ig & Hp). apply in_map_iff in Ig. destruct Ig as ([a' b'] & Q & Ig). cbn [fst snd] in Q. injection Q as <- <-.
      destruct (chains_all n q E (pts c) _ _ a' b' H5 Ig) as (vs & Iv & Cv). destruct (chain_ok n q E alpha S0 dn (pts c) Hn Hr HS HE Hden a' b' vs Cv) as (_ & C2 & C3). destruct (C3 p Hp) as (i & j & J & r & Hr' & Ep). destruct (C2 i j J) as (_ & _ & Nij).
      rewrite forallb_forall in H6. assert (It : In (i, j) (flat_map steps (target_chains c))) by (apply in_flat_map; eauto). specialize (H6 _ It). cbn [fst snd] in H6. apply existsb_exists in H6. destruct H6 as (w & Hw & Q). apply andb_true_iff in Q. rewrite !has_iff in Q. destruct Q as [Wx Wy].
      fold T in Hw. fold (mid (V i) (V j) r) in Ep. subst p. pose proof (edge_closed alpha dn (pts c) T D' M w i j r Hw Wx Wy Hr') as Cw.
      rewrite (m_P1 V T d M u w _ Iu Hw Op Cw) in Op. assert (Dij : i <> j) by (intros ->; apply Nij; reflexivity). destruct (edge_side V T w i j Hw Wx Wy Dij) as (g & _ & _ & P). specialize (P _ Op). pose proof (left_ends (V i) (V j) r) as Z0. assert (P2 : 0 < g * left (V i) (V j) (mid (V i) (V j) r)) by exact P. rewrite Z0 in P2. lra. }
  apply (no_cut_for_all d (F V W T) Un No). exists G, above. auto.
Qed.
