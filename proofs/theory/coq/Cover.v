(* The triangles of a certificate cover the sheet of the document exactly: by parity, and disjointness in pairs. *)
Require Import Reals List Bool Lra Psatz Permutation. Require Import Statement Cross.
Import ListNotations.
Open Scope R_scope.

Lemma odd_app : forall l m p, odd (l ++ m) p = xorb (odd l p) (odd m p).
Proof. induction l as [|e l IH]; intros; simpl; [now destruct (odd m p)|]. rewrite IH. now rewrite xorb_assoc. Qed.
Lemma left_lip : forall a b p q, Rabs (left a b q - left a b p) <= (Rabs (fst b - fst a) + Rabs (snd b - snd a)) * dist
  p q.
Proof.
  intros. unfold left, dist.
  replace (_ - _) with ((fst b - fst a) * (snd q - snd p) + - ((snd b - snd a) * (fst q - fst p))) by ring.
  eapply Rle_trans; [apply Rabs_triang|]. rewrite Rabs_Ropp, !Rabs_mult.
  rewrite (Rabs_minus_sym (snd q)), (Rabs_minus_sym (fst q)).
  pose proof (Rmax_l (Rabs (fst p - fst q)) (Rabs (snd p - snd q))).
  pose proof (Rmax_r (Rabs (fst p - fst q)) (Rabs (snd p - snd q))).
  pose proof (Rabs_pos (fst b - fst a)). pose proof (Rabs_pos (snd b - snd a)).
  set (M := Rmax _ _) in *. 
  assert (Rabs (fst b - fst a) * Rabs (snd p - snd q) <= Rabs (fst b - fst a) * M) by (apply Rmult_le_compat_l; auto).
  assert (Rabs (snd b - snd a) * Rabs (fst p - fst q) <= Rabs (snd b - snd a) * M) by (apply Rmult_le_compat_l; auto).
  lra.
Qed.
Lemma neg_nbhd : forall a b p, left a b p < 0 -> exists e, 0 < e /\ forall q, ball p e q -> left a b q < 0.
Proof.
  intros a b p H. set (K := Rabs (fst b - fst a) + Rabs (snd b - snd a)).
  assert (0 <= K) by (unfold K; pose proof (Rabs_pos (fst b - fst a)); pose proof (Rabs_pos (snd b - snd a)); lra).
  assert (E0 : 0 < - left a b p / (K + 1)) by (apply Rdiv_lt_0_compat; lra).
  exists (- left a b p / (K + 1)). split; auto. intros q Hq. unfold ball in Hq.
  pose proof (left_lip a b p q) as L. fold K in L.
  assert (D : dist p q * (K + 1) < - left a b p).
  { apply Rmult_lt_compat_r with (r := K + 1) in Hq; [|lra].
    replace (- left a b p / (K + 1) * (K + 1)) with (- left a b p) in Hq by (field; lra). auto. }
  assert (0 <= dist p q) by (unfold dist; eapply Rle_trans; [|apply Rmax_l]; apply Rabs_pos).
  pose proof (Rle_abs (left a b q - left a b p)). nra.
Qed.
Lemma closed_dec : forall t p, {closed t p} + {~ closed t p}.
Proof.
  intros [[a b] c] p. unfold closed.
  destruct (Rle_dec 0 (left a b p)), (Rle_dec 0 (left b c p)), (Rle_dec 0 (left c a p)); auto; right; tauto.
Qed.
Lemma not_closed_nbhd : forall t p, ~ closed t p -> exists e, 0 < e /\ forall q, ball p e q -> ~ closed t q.
Proof.
  intros [[a b] c] p H.
  assert (X : left a b p < 0 \/ left b c p < 0 \/ left c a p < 0).
  { unfold closed in H.
    destruct (Rle_dec 0 (left a b p)), (Rle_dec 0 (left b c p)), (Rle_dec 0 (left c a p)); try tauto; lra. }
  destruct X as [X|[X|X]]; destruct (neg_nbhd _ _ _ X) as (e & He & Hq); exists e; split; auto; intros q Q (?&?&?);
    specialize (Hq q Q); lra.
Qed.
Lemma none_nbhd : forall T p, (forall t, In t T -> ~ closed t p) -> exists e, 0 < e /\ forall q, ball p e q ->
  forall t, In t T -> ~ closed t q.
Proof.
  induction T as [|t T IH]; intros p H.
  - exists 1. split; [lra|]. intros q _ t [].
  - destruct (IH p) as (e & He & Hq); [intros; apply H; now right|].
    destruct (not_closed_nbhd t p) as (e' & He' & Hq'); [apply H; now left|].
    exists (Rmin e e'). split; [now apply Rmin_glb_lt|]. unfold ball in *.
    intros q Q u [->|Hu]; [apply Hq'|apply Hq; auto];
     eapply Rlt_le_trans; eauto; [apply Rmin_r|apply Rmin_l].
Qed.
(* points of the open triangle as near as one likes *)
Definition mid (p q : pt) t : pt := ((1 - t) * fst p + t * fst q, (1 - t) * snd p + t * snd q).
Lemma left_mid : forall a b p q t, left a b (mid p q t) = (1 - t) * left a b p + t * left a b q.
Proof. intros. unfold left, mid; simpl. ring. Qed.
Lemma mid_near : forall p q e, 0 < e -> exists t, 0 < t <= 1 /\ ball p e (mid p q t).
Proof.
  intros p q e He. set (M := dist p q).
  assert (0 <= M) by (unfold M, dist; eapply Rle_trans; [|apply Rmax_l]; apply Rabs_pos).
  exists (Rmin 1 (e / (M + 1))). assert (0 < e / (M + 1)) by (apply Rdiv_lt_0_compat; lra).
  assert (0 < Rmin 1 (e / (M + 1))) by (apply Rmin_glb_lt; lra).
  split; [split; auto; apply Rmin_l|]. set (t := Rmin _ _) in *. assert (t <= e / (M + 1)) by apply Rmin_r.
  assert (t * M < e).
  { assert (t * (M + 1) <= e).
  { apply Rmult_le_compat_r with (r := M + 1) in H2; [|lra]. replace (e / (M+1) * (M+1)) with e in H2 by (field; lra).
    auto. }
  nra. }
  unfold ball, dist, mid; simpl. apply Rmax_lub_lt.
  - replace (fst p - _) with (t * (fst p - fst q)) by ring. rewrite Rabs_mult, (Rabs_pos_eq t) by lra.
    eapply Rle_lt_trans; [|apply H3]. apply Rmult_le_compat_l; [lra|]. apply Rmax_l.
  - replace (snd p - _) with (t * (snd p - snd q)) by ring. rewrite Rabs_mult, (Rabs_pos_eq t) by lra.
    eapply Rle_lt_trans; [|apply H3]. apply Rmult_le_compat_l; [lra|]. apply Rmax_r.
Qed.
Definition centre (t : tri) : pt := let '(a, b, c) := t in ((fst a + fst b + fst c) / 3, (snd a + snd b + snd c) / 3).
Lemma centre_open : forall t, ccw t -> open t (centre t).
Proof.
  intros [[a b] c] H. unfold ccw, open, centre, left in *; simpl. repeat split; lra.
Qed.
Lemma open_dense : forall t p e, ccw t -> closed t p -> 0 < e -> exists q, ball p e q /\ open t q.
Proof.
  intros t p e HC Hp He. destruct (mid_near p (centre t) e He) as (s & Hs & Hb). exists (mid p (centre t) s).
  split; auto.
  pose proof (centre_open t HC) as O. destruct t as [[a b] c]. unfold open, closed in *. rewrite !left_mid.
  destruct O as (?&?&?), Hp as (?&?&?).
  repeat split; nra.
Qed.

Definition apart (t u : tri) := (forall q, open t q -> closed u q -> False) /\
  (forall q, open u q -> closed t q -> False).
Section Cover.
Variables (d : doc) (T : list tri).
Hypothesis Hccw : forall t, In t T -> ccw t.
Hypothesis Hpar : forall p, odd (outline d) p = odd (flat_map tedges T) p.
(* the boundary of the triangles, mod 2, is that of the sheet *)
Hypothesis Hapart : ForallOrdPairs apart T.

Lemma odd_some : forall S p, odd (flat_map tedges S) p = true -> exists t, In t S /\ odd (tedges t) p = true.
Proof.
  induction S as [|t S IH]; intros p H; [discriminate|]. simpl flat_map in H. rewrite odd_app in H.
  destruct (odd (tedges t) p) eqn:E; [exists t; split; auto; now left|]. rewrite xorb_false_l in H.
  destruct (IH p H) as (u & Hu & Eu). exists u; split; auto. now right.
Qed.
Lemma odd_none : forall S p, (forall t, In t S -> odd (tedges t) p = false) -> odd (flat_map tedges S) p = false.
Proof.
  induction S as [|t S IH]; intros p H; auto. simpl flat_map. rewrite odd_app, IH, H; auto; [now left|].
  intros; apply H; now right.
Qed.
Lemma odd_one : forall S p t, (forall t, In t S -> ccw t) -> ForallOrdPairs apart S -> In t S -> open t p ->
  odd (flat_map tedges S) p = true.
Proof.
  induction S as [|u S IH]; intros p t HC HA Hin Ho; [destruct Hin|]. simpl flat_map. rewrite odd_app.
  inversion HA; subst.
  rewrite Forall_forall in H1. destruct Hin as [->|Hin].
  - rewrite (proj1 (tri_parity t p (HC t (or_introl eq_refl))) Ho). rewrite odd_none; auto. intros v Hv.
    destruct (odd (tedges v) p) eqn:E; auto. apply tri_parity in E; [|apply HC; now right]. exfalso.
    apply (proj1 (H1 v Hv) p); auto.
  - rewrite (IH p t); auto; [|intros; apply HC; now right].
    destruct (odd (tedges u) p) eqn:E; auto. apply tri_parity in E; [|apply HC; now left]. exfalso.
    apply (proj2 (H1 t Hin) p); auto.
Qed.
Theorem cover : forall p, sheet d p <-> exists t, In t T /\ closed t p.
Proof.
  intro p. split.
  - intro Hs.
    destruct (Exists_dec (fun t => closed t p) T (fun t => closed_dec t p)) as [X|X]; [now apply Exists_exists|].
    exfalso. destruct (none_nbhd T p) as (e & He & Hq).
    { intros t Ht Hc. apply X, Exists_exists. eauto. }
    destruct (Hs e He) as (q & Q & O). rewrite Hpar in O. destruct (odd_some T q O) as (t & Ht & Et).
    apply (Hq q Q t Ht). apply tri_parity; auto.
  - intros (t & Ht & Hc) e He. destruct (open_dense t p e (Hccw t Ht) Hc He) as (q & Q & O). exists q. split; auto.
    rewrite Hpar. eapply odd_one; eauto.
Qed.
End Cover.
