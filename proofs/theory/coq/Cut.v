(* One straight cut frees exactly the target: signs at the corners of the triangles' images suffice. *)
Require Import Reals List Bool Lra Psatz. Require Import Statement Cross Cover Paste.
Import ListNotations.
Open Scope R_scope.
Section Cut.
Variables (V W : nat -> pt) (T : list tr) (d : doc) (l : line).
Notation geo := (geo V). Notation F := (F V W T).
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis Hcongr : forall t, In t T -> congr V W t.
Hypothesis P1 : forall t u q, In t T -> In u T -> open (geo t) q -> closed (geo u) q -> t = u.
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo u) (V i) -> corner u i.
Hypothesis Hne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.
Definition val (p : pt) := let '(A, B, C) := l in A * fst p + B * snd p - C.
Hypothesis K0 : forall t, In t T -> exists i, corner t i /\ val (W i) <> 0.
Hypothesis K1 : forall t i j, In t T -> corner t i -> corner t j -> 0 < val (W i) -> val (W j) < 0 -> False.
Hypothesis K2 : forall t i, In t T -> corner t i -> val (W i) = 0 -> on_target d (V i).
Hypothesis K3 : forall t i j m, In t T -> corner t i -> corner t j -> i <> j -> val (W i) = 0 -> val (W j) = 0 -> 0 < m < 1 -> on_target d (mid (V i) (V j) m).
(* each point of the target lies on an edge of a triangle whose ends come to lie on the line *)
Hypothesis K4 : forall p, on_target d p -> exists t i j m, In t T /\ corner t i /\ corner t j /\ 0 <= m <= 1 /\ p = mid (V i) (V j) m /\ val (W i) = 0 /\ val (W j) = 0.
Lemma val_on : forall p, on_line l p <-> val p = 0.
Proof. intro p. unfold on_line, val. destruct l as [[A B] C]. split; lra. Qed.
Lemma val_mid : forall p q m, val (mid p q m) = (1 - m) * val p + m * val q.
Proof. intros. unfold val, mid. destruct l as [[A B] C]; simpl. ring. Qed.
Lemma val_Ft : forall t p, In t T -> val (Ft V W t p) = wa V t p * val (W (ci t)) + wb V t p * val (W (cj t)) + wc V t p * val (W (ck t)).
Proof.
  intros t p Ht. pose proof (Hccw t Ht) as HD. unfold ccw, Paste.geo in HD. destruct (bary (V (ci t)) (V (cj t)) (V (ck t)) p) as (S & _ & _).
  assert (U : wa V t p + wb V t p + wc V t p = 1).
  { unfold wa, wb, wc, Dt. set (D := left (V (ci t)) (V (cj t)) (V (ck t))) in *. transitivity ((left (V (cj t)) (V (ck t)) p + left (V (ck t)) (V (ci t)) p + left (V (ci t)) (V (cj t)) p) / D); [field; lra|rewrite <- S; field; lra]. }
  unfold val, Ft. destruct l as [[A B] C]; cbn [fst snd].
  transitivity (wa V t p * (A * fst (W (ci t)) + B * snd (W (ci t))) + wb V t p * (A * fst (W (cj t)) + B * snd (W (cj t))) + wc V t p * (A * fst (W (ck t)) + B * snd (W (ck t))) - (wa V t p + wb V t p + wc V t p) * C); [rewrite U|]; ring.
Qed.
Lemma mid_in : forall t i j m, In t T -> corner t i -> corner t j -> 0 <= m <= 1 -> closed (geo t) (mid (V i) (V j) m).
Proof.
  intros t i j m Ht Hi Hj Hm. pose proof (Hccw t Ht) as HD. unfold ccw, Paste.geo in HD.
  assert (X : forall i, corner t i -> closed (geo t) (V i)).
  { intros k H. unfold closed, Paste.geo.
    assert (R1 : left (V (cj t)) (V (ck t)) (V (ci t)) = left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left; ring).
    assert (R2 : left (V (ck t)) (V (ci t)) (V (cj t)) = left (V (ci t)) (V (cj t)) (V (ck t))) by (unfold left; ring).
    assert (Z : forall a b, left a b a = 0) by (intros; unfold left; ring). assert (Z' : forall a b, left a b b = 0) by (intros; unfold left; ring).
    destruct H as [-> | [-> | ->]]; rewrite ?Z, ?Z', ?R1, ?R2; lra. }
  destruct (X i Hi) as (A & B & C), (X j Hj) as (A' & B' & C'). unfold closed, Paste.geo. rewrite !left_mid. repeat split; nra.
Qed.
Theorem cut_is_target : forall p, (sheet d p /\ on_line l (F p)) <-> on_target d p.
Proof.
  intro p. split.
  - intros (Hp & Hl). apply Hcover in Hp. destruct Hp as (t & Ht & Hc). rewrite (F_on V W T Hccw P1 P2 P3 Hne t p Ht Hc) in Hl. apply val_on in Hl.
    assert (Nn : forall i j m, corner t i -> corner t j -> 0 < m < 1 -> (1 - m) * val (W i) + m * val (W j) = 0 -> val (W i) = 0 /\ val (W j) = 0).
    { intros i j m Hi Hj Hm E. destruct (Rtotal_order (val (W i)) 0) as [L|[L|L]], (Rtotal_order (val (W j)) 0) as [M|[M|M]]; auto; exfalso; try nra; [apply (K1 t j i)|apply (K1 t i j)]; auto. }
    destruct (share V T Hccw P1 P2 P3 Hne t p Ht Hc) as [[O _]|[(i & Hi & -> & _)|(i & j & m & Hi & Hj & Dij & Hm & -> & _)]].
    + exfalso. rewrite val_Ft in Hl by auto. pose proof (Hccw t Ht) as HD. unfold ccw, Paste.geo in HD. destruct O as (O1 & O2 & O3).
      assert (A : 0 < wa V t p) by (unfold wa, Dt; apply Rdiv_lt_0_compat; auto). assert (B : 0 < wb V t p) by (unfold wb, Dt; apply Rdiv_lt_0_compat; auto). assert (C : 0 < wc V t p) by (unfold wc, Dt; apply Rdiv_lt_0_compat; auto).
      pose proof (K1 t (ci t) (cj t) Ht) as X1. pose proof (K1 t (cj t) (ci t) Ht) as X2. pose proof (K1 t (cj t) (ck t) Ht) as X3. pose proof (K1 t (ck t) (cj t) Ht) as X4. pose proof (K1 t (ck t) (ci t) Ht) as X5. pose proof (K1 t (ci t) (ck t) Ht) as X6.
      assert (Ci : corner t (ci t)) by (unfold corner; auto). assert (Cj : corner t (cj t)) by (unfold corner; auto). assert (Ck : corner t (ck t)) by (unfold corner; auto).
      specialize (X1 Ci Cj). specialize (X2 Cj Ci). specialize (X3 Cj Ck). specialize (X4 Ck Cj). specialize (X5 Ck Ci). specialize (X6 Ci Ck).
      destruct (K0 t Ht) as (i & Hi & Nz).
      set (a := val (W (ci t))) in *. set (b := val (W (cj t))) in *. set (c := val (W (ck t))) in *. set (x := wa V t p) in *. set (y := wb V t p) in *. set (z := wc V t p) in *.
      assert (Z : a = 0 /\ b = 0 /\ c = 0).
      { assert (S : (a <= 0 /\ b <= 0 /\ c <= 0) \/ (0 <= a /\ 0 <= b /\ 0 <= c)).
        { destruct (Rlt_dec a 0) as [La|La]; [left|destruct (Rlt_dec b 0) as [Lb|Lb]; [left|destruct (Rlt_dec c 0) as [Lc|Lc]; [left|right]]]; repeat split; try lra; apply Rnot_lt_le; intro; tauto. }
        clearbody a b c x y z. clear - A B C Hl S.
        assert (R : forall u v, 0 < u -> u * v = 0 -> v = 0) by (intros u v Hu E; apply Rmult_integral in E; destruct E; lra).
        destruct S as [(La & Lb & Lc)|(La & Lb & Lc)].
        - assert (x * a <= 0) by nra. assert (y * b <= 0) by nra. assert (z * c <= 0) by nra. repeat split; [apply (R x)|apply (R y)|apply (R z)]; auto; lra.
        - assert (0 <= x * a) by nra. assert (0 <= y * b) by nra. assert (0 <= z * c) by nra. repeat split; [apply (R x)|apply (R y)|apply (R z)]; auto; lra. }
      destruct Z as (Z1 & Z2 & Z3). destruct Hi as [-> | [-> | ->]]; auto.
    + rewrite (Ft_corner V W T) in Hl by auto. eapply K2; eauto.
    + rewrite Ft_mid, !(Ft_corner V W T), val_mid in Hl by auto. destruct (Nn i j m Hi Hj Hm Hl). eapply K3; eauto.
  - intro Hp. destruct (K4 p Hp) as (t & i & j & m & Ht & Hi & Hj & Hm & -> & E1 & E2). pose proof (mid_in t i j m Ht Hi Hj Hm) as C. split; [apply Hcover; eauto|].
    rewrite (F_on V W T Hccw P1 P2 P3 Hne t _ Ht C). apply val_on. rewrite Ft_mid, !(Ft_corner V W T), val_mid, E1, E2 by auto. ring.
Qed.
End Cut.
