(* The blade meets the sheet in the target and nowhere else: from conditions on open triangles, open edges and corners.
   *)
Require Import Reals List Bool Lra Psatz. Require Import Statement Cross Cover Paste.
Import ListNotations.
Open Scope R_scope.
Section Cut.
Variables (V W : nat -> pt) (T : list tr) (d : doc) (S : pt -> Prop).
Notation geo := (geo V). Notation F := (F V W T).
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis P1 : forall t u q, In t T -> In u T -> open (geo t) q -> closed (geo u) q -> t = u.
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo u) (V i) -> corner u i.
Hypothesis Hne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.
Hypothesis K1 : forall t x, In t T -> open (geo t) x -> ~ S (Ft V W t x).
Hypothesis K2 : forall t i j m, In t T -> corner t i -> corner t j -> i <> j -> 0 < m < 1 -> S (mid (W i) (W j) m) ->
   inside d (mid (V i) (V j) m) -> on_target d (mid (V i) (V j) m).
Hypothesis K3 : forall t i, In t T -> corner t i -> S (W i) -> inside d (V i) -> on_target d (V i).
Hypothesis K4 : forall p, on_target d p -> exists t, In t T /\ closed (geo t) p /\ (inside d p -> S (Ft V W t p)).
Lemma inside_sheet : forall p, inside d p -> sheet d p.
Proof. intros p (e & He & H). apply H. unfold ball, dist. rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra. Qed.
Theorem cut_is_target : cut_by d F S.
Proof.
  split.
  - intros p Hp. destruct (K4 p Hp) as (t & Ht & C & _). apply Hcover. eauto.
  - intros p Hi. split.
    + intro Hs. pose proof (inside_sheet p Hi) as Hp. apply Hcover in Hp. destruct Hp as (t & Ht & C).
      rewrite (F_on V W T Hccw P1 P2 P3 Hne t p Ht C) in Hs.
      destruct (share V T Hccw P1 P2 P3 Hne t p Ht C) as [[O _]|[(i & Ci & -> & _)|(i & j & m & Ci & Cj & D & Hm & ->
        & _)]].
      * exfalso. exact (K1 t p Ht O Hs).
      * rewrite (Ft_corner V W T) in Hs by auto. eapply K3; eauto.
      * rewrite Ft_mid, !(Ft_corner V W T) in Hs by auto. eapply K2; eauto.
    + intro Hp. destruct (K4 p Hp) as (t & Ht & C & Hs). rewrite (F_on V W T Hccw P1 P2 P3 Hne t p Ht C). auto.
Qed.
End Cut.
