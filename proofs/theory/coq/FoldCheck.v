(* The marks of edges from the chains of the creases, and a boolean check that suffices for the record "folds" of Top.v.
   *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Top Number MeshCheck Mesh Chain.
Import ListNotations.
Open Scope R_scope.
Definition tr_eqb t u := if tr_dec t u then true else false.
Definition inners (T : list tr) : list (nat * nat * tr * tr) := flat_map (fun t =>
  flat_map (fun e => map (fun u => (fst e, snd e, t, u))
  (filter (fun u => has u (fst e) && has u (snd e) && negb (tr_eqb t u)) T)) (tpairs t)) T.
Definition edge_in (i j : nat) (l : list (nat * nat)) := existsb (fun e =>
  (Nat.eqb i (fst e) && Nat.eqb j (snd e)) || (Nat.eqb i (snd e) && Nat.eqb j (fst e))) l.
Definition vertex_in (i : nat) (l : list (nat * nat)) := existsb (fun e => Nat.eqb i (fst e) || Nat.eqb i (snd e)) l.
Definition foldb (k : kind) := match k with Flat => false | _ => true end.
Definition corners (t : tr) := [ci t; cj t; ck t].
Lemma has_iff : forall t i, has t i = true <-> corner t i.
Proof. intros. unfold has, corner. rewrite !orb_true_iff, !Nat.eqb_eq. tauto. Qed.
Lemma tr_eqb_iff : forall t u, tr_eqb t u = true <-> t = u.
Proof. intros. unfold tr_eqb. destruct (tr_dec t u); split; congruence. Qed.
Lemma in_corners : forall t i, In i (corners t) <-> corner t i.
Proof. intros. unfold corners, corner. simpl. intuition. Qed.
Lemma tpairs_corner : forall t i j, In (i, j) (tpairs t) -> corner t i /\ corner t j.
Proof. intros t i j H. unfold corner. simpl in H. destruct H as [H|[H|[H|[]]]]; injection H as <- <-; auto. Qed.
Lemma edge_in_ok : forall i j l, edge_in i j l = true -> In (i, j) l \/ In (j, i) l.
Proof.
  intros i j l H. apply existsb_exists in H. destruct H as ([a b] & I & H). simpl in H.
  rewrite orb_true_iff, !andb_true_iff, !Nat.eqb_eq in H. destruct H as [[-> ->]|[-> ->]]; auto.
Qed.
Lemma edge_in_yes : forall i j l, In (i, j) l \/ In (j, i) l -> edge_in i j l = true.
Proof.
  intros i j l [H|H]; apply existsb_exists; [exists (i, j)|exists (j, i)]; (split; [exact H|]); simpl;
    rewrite !Nat.eqb_refl; simpl; auto.
  apply orb_true_r.
Qed.
Lemma edge_in_sym : forall i j l, edge_in i j l = edge_in j i l.
Proof.
  intros. destruct (edge_in i j l) eqn:A, (edge_in j i l) eqn:B; auto.
  - apply edge_in_ok in A. rewrite edge_in_yes in B; [discriminate|tauto].
  - apply edge_in_ok in B. rewrite edge_in_yes in A; [discriminate|tauto].
Qed.
Lemma vertex_in_ok : forall i l, vertex_in i l = true -> exists j, In (i, j) l \/ In (j, i) l.
Proof.
  intros i l H. apply existsb_exists in H. destruct H as ([a b] & I & H). simpl in H.
  rewrite orb_true_iff, !Nat.eqb_eq in H. destruct H as [-> | ->]; eauto.
Qed.
Lemma inners_in : forall T t t' i j, inner T t t' i j -> In (i, j, t, t') (inners T) \/ In (j, i, t, t') (inners T).
Proof.
  intros T t t' i j (Ht & Ht' & D & Dij & Hi & Hj & Hi' & Hj').
  assert (X : forall a b, In (a, b) (tpairs t) -> corner t' a -> corner t' b -> In (a, b, t, t') (inners T)).
  { intros a b I A B. unfold inners. apply in_flat_map. exists t. split; auto. apply in_flat_map. exists (a, b).
    split; auto. apply in_map_iff. exists t'. split; auto.
    apply filter_In. split; auto. cbn [fst snd]. apply has_iff in A, B. rewrite A, B.
    destruct (tr_eqb t t') eqn:Q; auto. apply tr_eqb_iff in Q. contradiction. }
  destruct (tpairs_in t i j Hi Hj Dij) as [I|I]; auto.
Qed.
Lemma inners_inner : forall T t t' i j, (forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t) ->
  In (i, j, t, t') (inners T) -> inner T t t' i j.
Proof.
  intros T t t' i j Ne H. unfold inners in H. apply in_flat_map in H. destruct H as (u & Hu & H).
  apply in_flat_map in H. destruct H as ([a b] & He & H). apply in_map_iff in H.
  destruct H as (w & Q & H). injection Q as <- <- <- <-. apply filter_In in H. destruct H as [Hw H]. cbn [fst snd] in *.
  rewrite !andb_true_iff in H. destruct H as ((A & B) & C). apply has_iff in A, B.
  destruct (tpairs_corner u a b He) as [Ca Cb]. destruct (Ne u Hu) as (N1 & N2 & N3).
  split; [auto|split; [auto|split; [|split; [|auto]]]].
  - intros X. apply tr_eqb_iff in X. rewrite X in C. discriminate.
  - simpl in He. destruct He as [He|[He|[He|[]]]]; injection He as <- <-; auto.
Qed.

Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (pts img : nat -> kp) (T : list tr) (cr : list (nat * nat * kind))
  (cs : list (list nat)).
Definition fold_steps := flat_map (fun x => if foldb (snd (fst x)) then steps (snd x) else []) (combine cr cs).
(* u moves as t does *)
Definition alike t u := Bool.eqb (tu t) (tu u) && forallb (fun m =>
  let a := ci t in let b := cj t in keq E (kdot n q (pts a) (pts b) (pts m)) (kdot n q (img a) (img b) (img m)) &&
  keq E (kleft n q (pts a) (pts b) (pts m)) (let w := kleft n q (img a) (img b) (img m) in if tu t then neg w else w))
    (corners u).
Definition check_folds := let fs := fold_steps in chains n q E pts (map fst cr) cs &&
  forallb (fun x => let '(i, j, t, u) := x in Bool.eqb (Bool.eqb (tu t) (tu u)) (negb (edge_in i j fs))) (inners T) &&
  forallb (fun e => existsb (fun t => has t (fst e) && has t (snd e)) T) fs &&
  forallb (fun t => forallb (fun i => vertex_in i fs || forallb (fun u => negb (has u i) || alike t u) T) (corners t))
    T.
End Bool.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Notation d := (doc_at D V). Notation cr := (w_creases D).
Hypothesis M : mesh V T d.
Hypothesis Cg : forall t, In t T -> congr V W t.
Lemma chains_combine : forall l c, chains n q E pts (map fst l) c = true ->
  (forall (x : nat * nat * kind) vs, In (x, vs) (combine l c) -> In x l /\
    chain n q E pts (fst (fst x)) (snd (fst x)) vs = true) /\ (forall x, In x l -> exists vs, In (x, vs) (combine l c)).
Proof.
  induction l as [|[[a b] k] l IH]; intros [|vs c] H; try discriminate; [split; intros; contradiction|]. simpl in H.
  apply andb_true_iff in H. destruct H as [H1 H2].
  destruct (IH c H2) as [A B]. split.
  - intros x ws [I|I]; [injection I as <- <-; split; [now left|exact H1]|]. destruct (A x ws I).
    split; [now right|auto].
  - intros x [<-|I]; [exists vs; now left|]. destruct (B x I) as (ws & J). exists ws. now right.
Qed.
Notation FS := (fold_steps cr cs).
Hypothesis Ch : chains n q E pts (map fst cr) cs = true.
Lemma fold_step : forall i j, In (i, j) FS -> exists a b k, In (a, b, k) cr /\ is_fold k /\ on_seg (V a) (V b) (V i) /\
  on_seg (V a) (V b) (V j) /\ V i <> V j.
Proof.
  intros i j H. apply in_flat_map in H. destruct H as ([[[a b] k] vs] & I & H). cbn [fst snd] in H.
  destruct (foldb k) eqn:Fk; [|destruct H].
  destruct (proj1 (chains_combine cr cs Ch) _ _ I) as [Ic C]. cbn [fst snd] in C.
  destruct (proj1 (proj2 (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a b vs C)) i j H) as (A & B & N).
  exists a, b, k. split; [auto|split; [intros ->; discriminate|auto]].
Qed.
Lemma on_fold_seg : forall a b k p, In (a, b, k) cr -> is_fold k -> on_seg (V a) (V b) p -> on_fold d p.
Proof. intros a b k p I F H. exists (V a), (V b), k. split; [|auto]. apply in_map_iff. exists (a, b, k). auto. Qed.
Lemma fold_edge : forall i j m, edge_in i j FS = true -> 0 < m < 1 -> on_fold d (mid (V i) (V j) m).
Proof.
  intros i j m H Hm. apply edge_in_ok in H.
  assert (X : forall x y s, In (x, y) FS -> 0 <= s <= 1 -> on_fold d (mid (V x) (V y) s)).
  { intros x y s I Hs. destruct (fold_step x y I) as (a & b & k & Ic & F & A & B & _). apply (on_fold_seg a b k); auto.
    apply (seg_sub _ _ (V x) (V y)); auto. exists s. split; [exact Hs|reflexivity]. }
  destruct H as [H|H]; [apply X; auto; lra|]. rewrite mid_sym. apply X; auto; lra.
Qed.
Lemma fold_vertex : forall i, vertex_in i FS = true -> on_fold d (V i).
Proof.
  intros i H.
  destruct (vertex_in_ok i _ H) as (j & [I|I]); destruct (fold_step _ _ I) as (a & b & k & Ic & F & A & B & _);
    eapply on_fold_seg; eauto.
Qed.
(* two vectors from one point with equal products with a vector that is not zero are equal *)
Lemma vec_eq : forall x y u v u' v', x * x + y * y <> 0 -> x * u + y * v = x * u' + y * v' ->
  x * v - y * u = x * v' - y * u' -> u = u' /\ v = v'.
Proof.
  intros x y u v u' v' N A B.
  assert (X : (x * x + y * y) * (u - u') = 0).
  { transitivity (x * ((x * u + y * v) - (x * u' + y * v')) - y * ((x * v - y * u) - (x * v' - y * u')));
      [ring|rewrite A, B; ring]. }
  assert (Y : (x * x + y * y) * (v - v') = 0).
  { transitivity (y * ((x * u + y * v) - (x * u' + y * v')) + x * ((x * v - y * u) - (x * v' - y * u')));
      [ring|rewrite A, B; ring]. }
  apply Rmult_integral in X, Y. destruct X, Y; try contradiction. split; lra.
Qed.
Lemma alike_ok : forall t u, In t T -> In u T -> alike n q E pts img t u = true ->
  tu u = tu t /\ forall p, Ft V W u p = Ft V W t p.
Proof.
  intros t u Ht Hu H. unfold alike in H. apply andb_true_iff in H. destruct H as [H1 H2]. apply eqb_prop in H1.
  split; auto. rewrite forallb_forall in H2.
  pose proof (m_ccw _ _ _ M) as Ccw. destruct (m_ne _ _ _ M t Ht) as (N1 & _). destruct (m_ne _ _ _ M u Hu) as (N2 & _).
  assert (Ci : corner t (ci t)) by (unfold corner; auto). assert (Cj : corner t (cj t)) by (unfold corner; auto).
  pose proof (V_ne V T Ccw t (ci t) (cj t) Ht Ci Cj N1) as NV.
  destruct (Ft_rigid V W T Ccw Cg t Ht) as (c & s & tx & ty & Nr & Rg).
  assert (P : forall m, corner u m -> Ft V W t (V m) = Ft V W u (V m)).
  { intros m Hm. rewrite (Ft_corner V W T Ccw u m Hu Hm). specialize (H2 m (proj2 (in_corners u m) Hm)). cbv zeta in H2.
    apply andb_true_iff in H2. destruct H2 as [A B].
    apply (keq_ok E alpha S0 HS HE) in A, B. rewrite !(kdot_val n q alpha den Hn Hroot Hden) in A.
    pose proof (den2 den Hden) as P. apply Rmult_eq_reg_l in A; [|lra].
    assert (B' : left (V (ci t)) (V (cj t)) (V m) = sg t * left (W (ci t)) (W (cj t)) (W m)).
    { apply Rmult_eq_reg_l with (den * den); [|lra]. unfold MeshCheck.place.
      rewrite <- (kleft_val n q alpha den Hn Hroot Hden), B. unfold sg.
      destruct (tu t); unfold neg; rewrite ?(val_scale alpha), (kleft_val n q alpha den Hn Hroot Hden);
        unfold MeshCheck.place; ring. }
    clear B. fold (V (ci t)) in A. fold (V (cj t)) in A. fold (V m) in A. fold (W (ci t)) in A. fold (W (cj t)) in A.
    fold (W m) in A.
    pose proof (Ft_corner V W T Ccw t (ci t) Ht Ci) as Ei. pose proof (Ft_corner V W T Ccw t (cj t) Ht Cj) as Ej.
    rewrite Rg in Ei, Ej. rewrite Rg.
    assert (G : sg t * sg t = 1) by (destruct (sg_cases t) as [-> | ->]; ring).
    rewrite <- Ei, <- Ej in A, B'. unfold left in B'. cbn [fst snd] in A, B'. set (g := sg t) in *.
    set (x := fst (V (cj t)) - fst (V (ci t))) in *. set (y := snd (V (cj t)) - snd (V (ci t))) in *.
    set (u0 := fst (V m) - fst (V (ci t))) in *. set (v0 := snd (V m) - snd (V (ci t))) in *.
    set (X := c * x - g * s * y). set (Y := s * x + g * c * y).
    assert (NX : X * X + Y * Y <> 0).
    { replace (X * X + Y * Y) with (x * x + y * y).
      - intro Z. apply NV. destruct (Rplus_sqr_eq_0 x y Z) as [Zx Zy]. unfold x, y in Zx, Zy.
        destruct (V (ci t)), (V (cj t)); simpl in *. f_equal; lra.
      - transitivity ((c * c + s * s) * (x * x) + (g * g) * (c * c + s * s) * (y * y));
          [rewrite Nr, G; ring|unfold X, Y; ring]. }
    destruct (vec_eq X Y (c * u0 - g * s * v0) (s * u0 + g * c * v0) (fst (W m) -
      (tx + c * fst (V (ci t)) - g * s * snd (V (ci t)))) (snd (W m) -
      (ty + s * fst (V (ci t)) + g * c * snd (V (ci t)))) NX) as [Q1 Q2].
    - transitivity (x * u0 + y * v0).
      + transitivity ((c * c + s * s) * (x * u0) + (g * g) * (c * c + s * s) * (y * v0));
          [unfold X, Y; ring|rewrite Nr, G; ring].
      + rewrite A. unfold X, Y, x, y. ring.
    - transitivity (g * (x * v0 - y * u0)).
      + transitivity ((c * c + s * s) * (g * (x * v0 - y * u0))); [unfold X, Y; ring|rewrite Nr; ring].
      + rewrite B'.
        transitivity ((g * g) * (X * (snd (W m) - (ty + s * fst (V (ci t)) + g * c * snd (V (ci t)))) - Y *
          (fst (W m) - (tx + c * fst (V (ci t)) - g * s * snd (V (ci t))))));
        [unfold X, Y, x, y; ring|rewrite G; ring].
    - unfold u0, v0 in Q1, Q2. destruct (W m) as [wx wy]; cbn [fst snd] in *. f_equal; lra. }
  apply (same_map_at V W T Ccw Cg t u (ci u) (cj u)); auto.
  - apply P. unfold corner; auto. - apply P. unfold corner; auto.
  - apply (V_ne V T Ccw u); unfold corner; auto.
Qed.
Lemma step_edges : check_folds n q E pts img T cr cs = true -> forall x y, In (x, y) FS ->
  exists t, In t T /\ corner t x /\ corner t y.
Proof.
  intros H x y I. unfold check_folds in H. cbv zeta in H. rewrite !andb_true_iff in H. destruct H as ((_ & H3) & _).
  rewrite forallb_forall in H3. specialize (H3 _ I). cbn [fst snd] in H3.
  apply existsb_exists in H3. destruct H3 as (t & Ht & H3). apply andb_true_iff in H3. rewrite !has_iff in H3. exists t.
  tauto.
Qed.
Theorem folds_of_check : check_folds n q E pts img T cr cs = true -> folds V W T d.
Proof.
  intro H. unfold check_folds in H. cbv zeta in H. rewrite !andb_true_iff in H. destruct H as (((_ & H2) & H3) & H4).
  rewrite forallb_forall in H2, H3, H4.
  assert (Mark : forall t t' i j, inner T t t' i j -> (edge_in i j FS = true -> tu t <> tu t') /\
    (edge_in i j FS = false -> tu t = tu t')).
  { intros t t' i j I.
    destruct (inners_in T t t' i j I) as [X|X]; specialize (H2 _ X); simpl in H2; apply eqb_prop in H2;
      [|rewrite edge_in_sym in H2];
    destruct (edge_in i j FS); simpl in H2; (split; intro Q; try discriminate); try (apply eqb_prop in H2; auto);
      intro Q'; rewrite Q', eqb_reflx in H2; discriminate. }
  constructor.
  - exact Cg.
  - intros t t' i j l I Hl NF. apply (Mark t t' i j I). destruct (edge_in i j FS) eqn:Q; auto. exfalso. apply NF.
    now apply fold_edge.
  - intros t u i Ht Hu Ti Ui NF. specialize (H4 t Ht). rewrite forallb_forall in H4.
    specialize (H4 i (proj2 (in_corners t i) Ti)). apply orb_true_iff in H4. destruct H4 as [X|X].
    + exfalso. apply NF. now apply fold_vertex.
    + rewrite forallb_forall in X. specialize (X u Hu). apply has_iff in Ui. rewrite Ui in X. simpl in X.
      now apply alike_ok.
  - intros a b k p Hc F Hp. apply in_map_iff in Hc. destruct Hc as ([[a' b'] k'] & Q & Hc). cbn [fst snd] in Q.
    injection Q as <- <- <-.
    destruct (proj2 (chains_combine cr cs Ch) _ Hc) as (vs & Iv).
    destruct (proj1 (chains_combine cr cs Ch) _ _ Iv) as [_ C]. cbn [fst snd] in C.
    destruct (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a' b' vs C) as (_ & C2 & C3).
    destruct (C3 p Hp) as (i & j & I & m & Hm & Ep).
    destruct (C2 i j I) as ((s & Hs & Ei) & (r & Hr & Ej) & N).
    assert (If : In (i, j) FS).
    { apply in_flat_map. exists ((a', b', k'), vs). split; auto. cbn [fst snd]. destruct k'; auto. exfalso. apply F.
      reflexivity. }
    specialize (H3 _ If). cbn [fst snd] in H3. apply existsb_exists in H3. destruct H3 as (t & Ht & H3).
    apply andb_true_iff in H3. destruct H3 as [A B]. apply has_iff in A, B.
    assert (Nij : i <> j) by (intros ->; apply N; reflexivity). fold (mid (V i) (V j) m) in Ep.
    fold (mid (V a') (V b') s) in Ei. fold (mid (V a') (V b') r) in Ej.
    exists t, i, j, m.
    split; [auto|split; [auto|split; [auto|split; [auto|split; [auto|split; [auto|split; [|split; [|split]]]]]]]].
    + rewrite Ei, Ej. unfold left, mid; simpl. ring.
    + rewrite Ei, Ej. unfold left, mid; simpl. ring.
    + assert (Sr : r <> s) by (intros ->; apply N; congruence).
      assert (Nab : V a' <> V b') by (intro Q; apply N; rewrite Ei, Ej, Q, !mid_same; reflexivity).
      rewrite Ei, Ej. unfold mid; cbn [fst snd]. set (x := fst (V b') - fst (V a')). set (y := snd (V b') - snd (V a')).
      replace (x * ((1 - r) * fst (V a') + r * fst (V b') - ((1 - s) * fst (V a') + s * fst (V b'))) + y *
        ((1 - r) * snd (V a') + r * snd (V b') - ((1 - s) * snd (V a') + s * snd (V b'))))
        with ((r - s) * (x * x + y * y)) by (unfold x, y; ring).
      intro Q. apply Rmult_integral in Q. destruct Q as [Q|Q]; [lra|]. apply Nab.
      destruct (Rplus_sqr_eq_0 x y Q) as [Qx Qy]. unfold x, y in Qx, Qy. destruct (V a'), (V b'); simpl in *.
      f_equal; lra.
    + intros t' I'. destruct (Mark t t' i j I') as [X _]. specialize (X (edge_in_yes i j _ (or_introl If))). unfold sg.
      destruct (tu t), (tu t'); try congruence; lra.
Qed.
End Sound.
