(* The boolean check of the triangles suffices for the record "mesh" of Top.v. *)
Require Import Reals ZArith List Bool Lra Arith.
Require Import Statement Cross Cover Parity Paste Layers FoldMap Edge Top Number MeshCheck.
Import ListNotations.
Open Scope R_scope.
Section M1.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (d : doc).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Definition edges_of : list (nat * nat) := flat_map tpairs T.
Lemma split_pairs : forall (R : tr -> tr -> Prop) l t u, ForallOrdPairs R l -> In t l -> In u l ->
  t = u \/ R t u \/ R u t.
Proof.
  induction 1 as [|x S HF HP IH]; intros It Iu; [destruct It|]. rewrite Forall_forall in HF.
  destruct It as [->|It], Iu as [->|Iu]; auto.
Qed.
Lemma nodup_dis : forall (a b : list (nat * nat)) e, NoDup (a ++ b) -> In e a -> In e b -> False.
Proof.
  induction a as [|y a IH]; intros b e HN Ea Eb; [destruct Ea|]. simpl in HN. inversion HN; subst.
  destruct Ea as [->|Ea]; [apply H1, in_or_app; auto|eauto].
Qed.
Lemma nodup_right : forall (a b : list (nat * nat)), NoDup (a ++ b) -> NoDup b.
Proof. induction a as [|y a IH]; intros b H; auto. inversion H; auto. Qed.
Lemma nodup_two : forall l t u e, NoDup (flat_map tpairs l) -> In t l -> In u l -> In e (tpairs t) -> In e (tpairs u) ->
  t = u.
Proof.
  induction l as [|x l IH]; intros t u e HN It Iu Et Eu; [destruct It|]. cbn [flat_map] in HN.
  pose proof (nodup_right _ _ HN) as HN2.
  destruct It as [X|It], Iu as [Y|Iu]; [congruence| | |eauto].
  - exfalso. subst x. apply (nodup_dis _ _ e HN Et). apply in_flat_map. eauto.
  - exfalso. subst x. apply (nodup_dis _ _ e HN Eu). apply in_flat_map. eauto.
Qed.
Theorem mesh_of_check : forall walks, check_mesh n q E pts img T = true -> even_edges (edges_of ++ walks) = true ->
  NoDup edges_of ->
   (forall p, odd (outline d) p = odd (map (Parity.place V) walks) p) -> mesh V T d.
Proof.
  intros walks C Ev ND Out. destruct (mesh_sound n q E alpha S0 den pts img Hn Hroot HS HE Hden T C) as (One & Prs).
  assert (Ccw : forall t, In t T -> ccw (geo V t)) by (intros t Ht; now apply One).
  assert (Ne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t).
  { intros t Ht. pose proof (Ccw t Ht) as H. unfold ccw, geo in H.
    repeat split; intro X; rewrite X in H; unfold left in H; lra. }
  assert (Ap : forall t u, In t T -> In u T -> t <> u -> apart2 alpha den pts t u).
  { intros t u Ht Hu D. destruct (split_pairs _ T t u Prs Ht Hu) as [X|[[X _]|[_ X]]]; auto; contradiction. }
  assert (P2' : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
    closed (geo V u) (mid (V i) (V j) l) -> corner u i /\ corner u j).
  { intros t u i j l Ht Hu Hi Hj D Hl Cl. destruct (tr_dec t u) as [<-|N]; auto.
    destruct (Ap t u Ht Hu N) as (_ & _ & X). eauto. }
  assert (Par : forall p, odd (outline d) p = odd (flat_map tedges (map (geo V) T)) p).
  { intro p. rewrite Out. rewrite <- (even_sound V edges_of walks p Ev). f_equal. unfold edges_of. clear.
    induction T as [|t l IH]; [reflexivity|]. simpl. now rewrite IH. }
  assert (Apt : ForallOrdPairs apart (map (geo V) T)).
  { clear - Prs. induction Prs as [|t l HF HP IH]; simpl; constructor; auto. rewrite Forall_forall in *. intros x Hx.
    apply in_map_iff in Hx. destruct Hx as (u & <- & Hu). destruct (HF u Hu) as ((A & _) & (B & _)). split; auto. }
  assert (Cov : forall p, sheet d p <-> exists t, In t T /\ closed (geo V t) p).
  { intro p. rewrite (cover d (map (geo V) T)); auto.
    - split; intros (t & Ht & Hc); [apply in_map_iff in Ht; destruct Ht as (u & <- & Hu); eauto|exists (geo V t); split;
        auto; now apply in_map].
    - intros t Ht. apply in_map_iff in Ht. destruct Ht as (u & <- & Hu). auto. }
  assert (Dir : forall t i j, In t T -> In (i, j) (tpairs t) -> forall x, closed (geo V t) x ->
    0 <= left (V i) (V j) x).
  { intros t i j Ht He x (A & B & Cc). simpl in He. destruct He as [He|[He|[He|[]]]]; injection He as <- <-; auto. }
  assert (Opp : forall t t' i j, inner T t t' i j -> (In (i, j) (tpairs t) /\ In (j, i) (tpairs t')) \/
    (In (j, i) (tpairs t) /\ In (i, j) (tpairs t'))).
  { intros t t' i j (Ht & Ht' & D & Dij & Hi & Hj & Hi' & Hj').
    destruct (tpairs_in t i j Hi Hj Dij) as [X|X], (tpairs_in t' i j Hi' Hj' Dij) as [Y|Y]; auto; exfalso; apply D;
      eapply nodup_two; eauto. }
  constructor; auto.
  - intros t u x Ht Hu Ot Cu. destruct (tr_dec t u) as [|N]; auto. exfalso. destruct (Ap t u Ht Hu N) as (X & _). eauto.
  - intros t u i Ht Hu Hi Cl. destruct (tr_dec t u) as [<-|N]; auto. destruct (Ap t u Ht Hu N) as (_ & X & _). auto.
  - intros t t' i j I. pose proof I as (Ht & Ht' & _).
    assert (Sw : forall y, left (V i) (V j) y = - left (V j) (V i) y) by (intro; unfold left; ring).
    destruct (Opp t t' i j I) as [[A B]|[A B]]; [left|right]; split; intros x Hx.
    + exact (Dir t i j Ht A x Hx). + rewrite Sw. pose proof (Dir t' j i Ht' B x Hx). lra.
    + exact (Dir t' i j Ht' B x Hx). + rewrite Sw. pose proof (Dir t j i Ht A x Hx). lra.
  - intros t t' u i j I Hu Ui Uj. pose proof I as (Ht & Ht' & _ & Dij & _).
    destruct (Opp t t' i j I) as [[A B]|[A B]], (tpairs_in u i j Ui Uj Dij) as [X|X];
     [left|right|right|left]; eapply nodup_two; eauto.
  - intros s k l m Hs D Hk Hl Hm Hin. exact (second_triangle V T d Ccw P2' Cov s k l m Hs D Hk Hl Hm Hin).
Qed.
End M1.
