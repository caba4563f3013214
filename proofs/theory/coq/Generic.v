(* Finitely many lines and places do not fill a disc; nor do places divide it. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Top Unique Inside. Require Chain.
Import ListNotations.
Open Scope R_scope.
Lemma ball_sub : forall p e q r, ball p e q -> ball q (e - dist p q) r -> ball p e r.
Proof. intros p e q r A B. unfold ball in *. pose proof (dist_tri p q r). lra. Qed.
(* near a place off a line, all are *)
Lemma off_near : forall l p, ~ on_line l p -> exists e, 0 < e /\ forall r, ball p e r -> ~ on_line l r.
Proof.
  intros [[A B] C] p N. unfold on_line in *. set (v := A * fst p + B * snd p - C).
  assert (Nv : v <> 0) by (unfold v; lra). pose proof (Rabs_pos_lt v Nv) as Pv.
  set (k := Rabs A + Rabs B + 1).
  assert (Pk : 0 < k) by (unfold k; pose proof (Rabs_pos A); pose proof (Rabs_pos B); lra). exists (Rabs v / k).
  split; [now apply Rdiv_lt_0_compat|].
  intros r Hr E. unfold ball, dist in Hr. assert (D : v = A * (fst p - fst r) + B * (snd p - snd r)) by (unfold v; lra).
  set (m := Rmax (Rabs (fst p - fst r)) (Rabs (snd p - snd r))) in *.
  assert (M1 : Rabs (fst p - fst r) <= m) by apply Rmax_l. assert (M2 : Rabs (snd p - snd r) <= m) by apply Rmax_r.
  assert (X : Rabs v <= Rabs A * m + Rabs B * m).
  { rewrite D. eapply Rle_trans; [apply Rabs_triang|]. rewrite !Rabs_mult.
    apply Rplus_le_compat; apply Rmult_le_compat_l; auto; apply Rabs_pos. }
  assert (Y : m * k < Rabs v).
  { replace (Rabs v) with (Rabs v / k * k) by (field; lra). now apply Rmult_lt_compat_r. }
  assert (0 <= m) by (eapply Rle_trans; [apply Rabs_pos|exact M1]). unfold k in Y. lra.
Qed.
Theorem generic : forall N, (forall l, In l N -> proper l) -> forall p e, 0 < e ->
  exists q e', 0 < e' /\ forall r, ball q e' r -> ball p e r /\ off N r.
Proof.
  induction N as [|l N IH]; intros P p e He; [exists p, e; split; [auto|intros r Hr; split; [auto|intros l []]]|].
  destruct (IH (fun x I => P x (or_intror I)) p e He) as (q & e1 & P1 & H1).
  assert (X : exists q', ball q e1 q' /\ ~ on_line l q').
  { pose proof (P l (or_introl eq_refl)) as Pl. destruct l as [[A B] C]. unfold proper, on_line in *.
    destruct (Req_dec (A * fst q + B * snd q) C) as [E|E]; [|exists q; split; [now apply ball_self|exact E]].
    destruct (mid_near q (fst q + A, snd q + B) e1 P1) as (t & Ht & Hb). exists (mid q (fst q + A, snd q + B) t).
    split; [exact Hb|]. unfold mid; cbn [fst snd]. intro Z.
    assert (Z' : t * (A * A + B * B) = 0) by lra. apply Rmult_integral in Z'. destruct Z'; [lra|contradiction]. }
  destruct X as (q' & Bq & Nq). destruct (off_near l q' Nq) as (e2 & P2 & H2). exists q', (Rmin e2 (e1 - dist q q')).
  unfold ball in Bq. split; [apply Rmin_glb_lt; lra|]. intros r Hr. unfold ball in Hr.
  assert (R1 : ball q e1 r) by (apply (ball_sub q e1 q' r Bq); unfold ball; eapply Rlt_le_trans;
    [exact Hr|apply Rmin_r]).
  destruct (H1 r R1) as (A & B). split; [exact A|].
  intros x [<-|I]; [apply H2; unfold ball; eapply Rlt_le_trans; [exact Hr|apply Rmin_l]|now apply B].
Qed.
(* an upright line through each place *)
Definition uprights (Z : list pt) : list line := map (fun z => (1, 0, fst z)) Z.
Lemma uprights_proper : forall Z l, In l (uprights Z) -> proper l.
Proof. intros Z l I. apply in_map_iff in I. destruct I as (z & <- & _). unfold proper. lra. Qed.
Lemma uprights_off : forall Z p, off (uprights Z) p -> ~ In p Z.
Proof. intros Z p O I. apply (O (1, 0, fst p)); [apply in_map_iff; exists p; auto|unfold on_line; lra]. Qed.
Lemma off_app : forall N M p, off (N ++ M) p <-> off N p /\ off M p.
Proof.
  intros N M p. unfold off.
  split; [intro H; split; intros l I; apply H, in_or_app; auto|intros [A B] l I; apply in_app_or in I; destruct I;
    auto].
Qed.
Lemma lineof_proper : forall a b, a <> b -> proper (lineof a b).
Proof.
  intros a b N E. apply N. unfold lineof in E. destruct (Rplus_sqr_eq_0 (- (snd b - snd a)) (fst b - fst a) E).
  destruct a, b; simpl in *. f_equal; lra.
Qed.
(* a way from one place to another by one corner, off finitely many places: a convex open set without them is in one
   piece *)
Theorem way_round : forall (O : pt -> Prop) Z p p', (forall q, O q -> exists e, 0 < e /\ forall r, ball q e r -> O r) ->
  (forall a b t, O a -> O b -> 0 <= t <= 1 -> O (mid a b t)) -> O p -> O p' -> ~ In p Z -> ~ In p' Z ->
  exists m, O m /\ (forall t, 0 <= t <= 1 -> O (mid p m t) /\ ~ In (mid p m t) Z) /\
    (forall t, 0 <= t <= 1 -> O (mid p' m t) /\ ~ In (mid p' m t) Z).
Proof.
  intros O Z p p' Op Cv Hp Hp' Np Np'. destruct (Op p Hp) as (e & He & Be).
  destruct (generic (map (lineof p) Z ++ map (lineof p') Z)) with (p := p) (e := e) as (m & e' & He' & H); auto.
  { intros l I. apply in_app_or in I.
    destruct I as [I|I]; apply in_map_iff in I; destruct I as (z & <- & I); apply lineof_proper; congruence. }
  destruct (H m (ball_self m e' He')) as (Bm & Om). apply off_app in Om. destruct Om as [O1 O2]. exists m.
  split; [now apply Be|].
  assert (Core : forall a, O a -> ~ In a Z -> off (map (lineof a) Z) m -> forall t, 0 <= t <= 1 ->
    O (mid a m t) /\ ~ In (mid a m t) Z).
  { intros a Ha Na Off t Ht. split; [apply Cv; auto|]. intro I.
    destruct (Req_dec t 0) as [-> |Nt]; [rewrite Chain.mid_0 in I; contradiction|].
    apply (Off (lineof a (mid a m t))); [now apply in_map|]. apply lineof_on. unfold left, mid; cbn [fst snd]. ring. }
  split; apply Core; auto.
Qed.
(* what is the same near each place, off finitely many places, is the same all over *)
Theorem constant_on : forall (O R : pt -> Prop) N Z, (forall q, O q -> exists e, 0 < e /\ forall r, ball q e r -> O r)
  -> (forall a b t, O a -> O b -> 0 <= t <= 1 -> O (mid a b t)) ->
  (forall l, In l N -> proper l) -> (forall q, O q -> off N q -> R q \/ ~ R q) ->
  (forall p, O p -> ~ In p Z -> exists e, 0 < e /\ forall q r, ball p e q -> ball p e r -> O q -> O r -> off N q ->
    off N r -> (R q <-> R r)) ->
  forall p p', O p -> O p' -> off N p -> off N p' -> ~ In p Z -> ~ In p' Z -> (R p <-> R p').
Proof.
  intros O R N Z Op Cv PN Dec Loc p p' Hp Hp' Fp Fp' Np Np'.
  destruct (way_round O Z p p' Op Cv Hp Hp' Np Np') as (m & Om & W1 & W2).
  assert (Gen : forall a, O a -> forall e, 0 < e -> exists q, ball a e q /\ O q /\ off N q).
  { intros a Oa e He. destruct (Op a Oa) as (x & Hx & Bx).
    destruct (generic N PN a (Rmin e x)) as (q & y & Hy & H); [now apply Rmin_glb_lt|].
    destruct (H q (ball_self q y Hy)) as (B & Fq). unfold ball in B.
    exists q.
    split; [unfold ball; eapply Rlt_le_trans; [exact B|apply Rmin_l]|split;
      [apply Bx; unfold ball; eapply Rlt_le_trans; [exact B|apply Rmin_r]|exact Fq]]. }
  (* near the end of such a way it is as at its start *)
  assert (Core : forall a, O a -> off N a -> (forall t, 0 <= t <= 1 -> O (mid a m t) /\ ~ In (mid a m t) Z) ->
    exists e, 0 < e /\ forall q, ball m e q -> O q -> off N q -> (R q <-> R a)).
  { intros a Oa Fa W.
    set (P := fun t => exists e, 0 < e /\ forall q, ball (mid a m t) e q -> O q -> off N q -> (R q <-> R a)).
    (* P for a parameter, from one place near it *)
    assert (One : forall t, 0 <= t <= 1 -> exists e, 0 < e /\ forall q, ball (mid a m t) e q -> O q -> off N q ->
      ((R q <-> R a) <-> P t)).
    { intros t Ht. destruct (W t Ht) as (Ot & Nt). destruct (Loc _ Ot Nt) as (e & He & L). exists e. split; auto.
      intros q Bq Oq Fq. split.
      - intro E. exists e. split; auto. intros r Br Or Fr. rewrite <- E. now apply L.
      - intros (e' & He' & H). destruct (Gen _ Ot (Rmin e e')) as (r & Br & Or & Fr); [now apply Rmin_glb_lt|].
        unfold ball in Br. rewrite <- (H r); auto; [|unfold ball; eapply Rlt_le_trans; [exact Br|apply Rmin_r]].
        apply L; auto. unfold ball. eapply Rlt_le_trans; [exact Br|apply Rmin_l]. }
    enough (P 1) as H by (unfold P in H; now rewrite Chain.mid_1 in H).
    assert (Rg : forall u, 0 <= u <= 1 -> Rmax 0 (Rmin 1 u) = u) by (intros u Hu; rewrite (Rmin_right 1 u) by lra;
      apply Rmax_right; lra).
    rewrite <- (Rg 1) by lra. apply (real_induction (fun u => P (Rmax 0 (Rmin 1 u)))).
    - intro u. set (t := Rmax 0 (Rmin 1 u)).
      assert (Ht : 0 <= t <= 1) by (unfold t; split; [apply Rmax_l|apply Rmax_lub; [lra|apply Rmin_l]]).
      destruct (One t Ht) as (e & He & H). destruct (Gen _ (proj1 (W t Ht)) e He) as (q & Bq & Oq & Fq).
      specialize (H q Bq Oq Fq). pose proof (Dec q Oq Fq). pose proof (Dec a Oa Fa). tauto.
    - rewrite Rg by lra. destruct (One 0 ltac:(lra)) as (e & He & H).
      apply (H a); auto; [rewrite Chain.mid_0; now apply ball_self|reflexivity].
    - intros t Ht Before. rewrite Rg by lra. destruct (One t ltac:(lra)) as (e & He & H).
      destruct (along_near a m t e He) as (r & Hr & Bal). set (u := Rmax 0 (t - r / 2)).
      assert (U0 : 0 <= u) by apply Rmax_l. assert (U1 : t - r / 2 <= u) by apply Rmax_r.
      assert (U2 : u < t) by (apply Rmax_lub_lt; lra).
      assert (Bu : ball (mid a m t) e (mid a m u)) by (apply Bal; rewrite Rabs_pos_eq; lra).
      specialize (Before u ltac:(lra)). rewrite Rg in Before by lra. destruct Before as (e' & He' & Hu).
      unfold ball in Bu. destruct (W u ltac:(lra)) as (Ou & _).
      destruct (Gen _ Ou (Rmin e' (e - dist (mid a m t) (mid a m u)))) as (q & Bq & Oq & Fq); [apply Rmin_glb_lt; lra|].
      unfold ball in Bq.
      apply (H q); auto; [apply (ball_sub _ _ (mid a m u)); [exact Bu|unfold ball; eapply Rlt_le_trans;
        [exact Bq|apply Rmin_r]]|].
      apply Hu; auto. unfold ball. eapply Rlt_le_trans; [exact Bq|apply Rmin_l].
    - intros t Ht Pt. rewrite Rg in Pt by lra. destruct Pt as (e & He & H).
      destruct (along_near a m t e He) as (r & Hr & Bal). exists r. split; auto. intros u Hu U1. rewrite Rg by lra.
      assert (Bu : ball (mid a m t) e (mid a m u)) by (apply Bal; rewrite Rabs_minus_sym, Rabs_pos_eq; lra).
      exists (e - dist (mid a m t) (mid a m u)). unfold ball in Bu. split; [lra|]. intros q Bq Oq Fq. apply H; auto.
      exact (ball_sub _ _ _ _ Bu Bq). }
  destruct (Core p Hp Fp W1) as (e1 & P1 & H1). destruct (Core p' Hp' Fp' W2) as (e2 & P2 & H2).
  destruct (Gen m Om (Rmin e1 e2)) as (q & Bq & Oq & Fq); [now apply Rmin_glb_lt|]. unfold ball in Bq.
  rewrite <- (H1 q), <- (H2 q); auto; [reflexivity|unfold ball; eapply Rlt_le_trans;
    [exact Bq|apply Rmin_r]|unfold ball; eapply Rlt_le_trans; [exact Bq|apply Rmin_l]].
Qed.
