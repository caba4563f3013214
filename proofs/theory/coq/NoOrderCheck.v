(* The boolean check of refutations of the layer order ("order"): reasons, each checked in the folded plane, and a
   derivation from their clauses. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Edge Cut Top Number MeshCheck Mesh Chain
  FoldCheck LayerCheck CutCheck Field Evaluate Closure Inside Drawn FoldMapUnique NoCut Checker ClosureCheck Reached
  NoCutCheck Generic Images Necessary OrderBack NoOrder.
Import ListNotations.
Open Scope R_scope.
Definition seam := (nat * nat * (tr * tr))%type.      (* an edge, and the triangles at it *)
(* r/z is a place on the way along the first edge; three weights, a place inside the first triangle *)
Inductive reason :=
  | ByMark (e : seam)                                 (* mountain or valley *)
  | ByCrossing (e : seam) (s : tr) (r z : Z)          (* an edge runs through a triangle *)
  | ByFlats (e f : seam) (r z : Z)                    (* two flat edges share a stretch *)
  | ByFlat (e f : seam) (r z : Z)                     (* a fold, and a flat edge *)
  | ByFolds (e f : seam) (r z : Z)                    (* two folds to one side *)
  | ByThree (t s w : tr) (a b c : Z).                 (* three over one another *)
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (img : nat -> kp) (T : list tr) (ms vs : list (nat * nat)).
Notation side := (side_of n q E). Notation lv := (lv n q).
Definition seam_ok (e : seam) := let '((i, j), (t, u)) := e in is_in T t && is_in T u && negb (tr_eqb t u) &&
  negb (Nat.eqb i j) && has t i && has t j && has u i && has u j.
Definition amidst (r z : Z) := (0 <? r)%Z && (r <? z)%Z.
Definition through i j r z s := amidst r z && forallb (fun l => ispos (side_at n q E l (img i) (img j) r z))
  (lns (im n q img s)).
Definition dot_at a b i j r z := sgn E (add (scale (z - r) (kdot n q a b i)) (scale r (kdot n q a b j))).
Definition sharing i j k l r z := let m := line_of n q (img k) (img l) in iszero (side m (img i)) &&
  iszero (side m (img j)) && amidst r z &&
  ispos (dot_at (img k) (img l) (img i) (img j) r z) && ispos (dot_at (img l) (img k) (img i) (img j) r z).
Definition weighted l t (a b c : Z) := sgn E (add (scale a (lv l (img (ci t))))
  (add (scale b (lv l (img (cj t)))) (scale c (lv l (img (ck t)))))).
Definition holds_place s t a b c := (0 <? a)%Z && (0 <? b)%Z && (0 <? c)%Z &&
  forallb (fun l => ispos (weighted l t a b c)) (lns (im n q img s)).
(* pairs that lie over one another *)
Definition over_ok (x : lit * (Z * Z * Z)) := let '((t, s), ((a, b), c)) :=
  x in is_in T t && is_in T s && negb (tr_eqb t s) && holds_place s t a b c.
Definition evenly (a b c d : lit) : list (list lit) := let no := opp in
  [[no a; b; c; d]; [a; no b; c; d]; [a; b; no c; d]; [a; b; c; no d]; [no a; no b; no c; d]; [no a; no b; c; no d];
    [no a; b; no c; no d]; [a; no b; no c; no d]].
Definition same (a b : lit) : list (list lit) := [[a; opp b]; [opp a; b]].
Definition clauses (x : reason) : option (list (list lit)) := match x with
  | ByMark ((i, j), (t, u)) => if seam_ok ((i, j), (t, u)) && negb (tu t) && tu u then
      if edge_in i j ms then Some [[(t, u)]] else if edge_in i j vs then Some [[(u, t)]] else None else None
  | ByCrossing ((i, j), (t, u)) s r z => if seam_ok ((i, j), (t, u)) && is_in T s &&
    through i j r z s then Some (same (t, s) (u, s)) else None
  | ByFlats ((i, j), (t, t')) ((k, l), (s, s')) r z => if seam_ok ((i, j), (t, t')) && seam_ok ((k, l), (s, s')) &&
    eqb (tu t) (tu t') && eqb (tu s) (tu s') && sharing i j k l r z then Some (same (t, s) (t', s')) else None
  | ByFlat ((i, j), (t, t')) ((k, l), (s, s')) r z => if seam_ok ((i, j), (t, t')) && seam_ok ((k, l), (s, s')) &&
    eqb (tu s) (tu s') && sharing i j k l r z then Some (same (t, s) (t', s)) else None
  | ByFolds ((i, j), (t, t')) ((k, l), (s, s')) r z => if seam_ok ((i, j), (t, t')) && seam_ok ((k, l), (s, s')) &&
    negb (tr_eqb t s) && negb (tr_eqb t s') && negb (tr_eqb t' s) && negb (tr_eqb t' s') && sharing i j k l r z
      then Some (evenly (t, s) (t', s) (t, s') (t', s')) else None
  | ByThree t s w a b c => if is_in T t && is_in T s && is_in T w && negb (tr_eqb t s) && negb (tr_eqb s w) &&
    negb (tr_eqb t w) && holds_place s t a b c && holds_place w t a b c
      then Some [[(s, t); (w, s); (t, w)]; [(t, s); (s, w); (w, t)]] else None end.
Fixpoint all_clauses (l : list reason) : option (list (list lit)) := match l with
  | [] => Some [] | x :: r => match clauses x, all_clauses r with Some c, Some cs => Some (c ++ cs) | _, _ =>
    None end end.
Definition known (os : list lit) (l : lit) := among l os || among (opp l) os.
Definition refutes (os : list (lit * (Z * Z * Z))) (rs : list reason) (steps : list (list lit * list nat)) := let ls :=
  map fst os in
  forallb over_ok os && match all_clauses rs with Some cl => forallb (forallb (known ls)) cl &&
    derive (known ls) cl steps | None => false end.
End Bool.
Section Top.
Variables (D : document) (c : certificate).
Notation f := (its_field c). Notation n := (degree f). Notation q := (red f). Notation E := (powers f).
Notation D' := (renumber (vertex c) D).
Definition check_no_order (t0 : tr) (l : list (nat * nat * (tr * tr))) os rs steps :=
  field_ok f && check_points D c && check_sheet D c && check_folded D c && all_reached c t0 l &&
  refutes n q E (img c) (tris c) (marked (w_creases D') (crease_chains c) Mountain)
    (marked (w_creases D') (crease_chains c) Valley) os rs steps.
End Top.
Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Notation d := (doc_at D V). Notation rp := (MeshCheck.rp alpha den). Notation cr := (w_creases D).
Notation Ft := (Ft V W).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Hypothesis Ch : chains n q E pts (map fst cr) cs = true.
Notation ms := (marked cr cs Mountain). Notation vs := (marked cr cs Valley).
Variable gt : tr -> tr -> Prop.
Hypothesis La : layers V W T d gt.
Notation Ccw := (m_ccw V T d M).
Lemma tr_ne : forall t u, negb (tr_eqb t u) = true -> t <> u.
Proof. intros t u H ->. rewrite (proj2 (tr_eqb_iff u u) eq_refl) in H. discriminate. Qed.
Lemma seam_inner : forall i j t u, seam_ok T ((i, j), (t, u)) = true -> inner T t u i j.
Proof.
  intros i j t u H. unfold seam_ok in H. rewrite !andb_true_iff, !has_iff in H.
  destruct H as (((((((A & B) & C) & N) & H1) & H2) & H3) & H4). apply is_in_ok in A, B. apply tr_ne in C.
  apply negb_true_iff, Nat.eqb_neq in N. unfold inner. auto 12.
Qed.
Lemma marked_crease : forall k i j m, k = Mountain \/ k = Valley -> edge_in i j (marked cr cs k) = true ->
  0 <= m <= 1 -> exists a b, In (a, b, k) (creases d) /\ is_fold k /\ on_seg a b (mid (V i) (V j) m).
Proof.
  intros k i j m Hk H Hm.
  assert (Core : forall i j m, In (i, j) (marked cr cs k) -> 0 <= m <= 1 ->
    exists a b, In (a, b, k) (creases d) /\ is_fold k /\ on_seg a b (mid (V i) (V j) m)).
  { clear i j m H Hm. intros i j m I Hm. apply in_flat_map in I. destruct I as ([[[a b] k'] ws] & I & J).
    cbn [fst snd] in J.
    assert (Q : k' = k /\ In (i, j) (steps ws)) by (destruct Hk as [-> | ->], k'; try (destruct J; fail); auto).
    destruct Q as [-> Q].
    destruct (proj1 (chains_combine n q E pts cr cs Ch) _ _ I) as [Ic C]. cbn [fst snd] in C.
    destruct (proj1 (proj2 (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a b ws C)) i j Q) as (A & B & _).
    exists (V a), (V b).
    split; [apply in_map_iff; exists (a, b, k); auto|split; [unfold is_fold; destruct Hk as [-> | ->]; discriminate|]].
    apply (seg_sub _ _ (V i) (V j)); auto. exists m. split; [exact Hm|reflexivity]. }
  apply edge_in_ok in H. destruct H as [H|H]; [now apply Core|]. rewrite (Cmid_sym (V i) (V j) m). apply Core; auto.
  lra.
Qed.
Lemma amidst_ok : forall r z, amidst r z = true -> (0 < z)%Z /\ 0 < IZR r / IZR z < 1.
Proof.
  intros r z H. unfold amidst in H. rewrite andb_true_iff, !Z.ltb_lt in H. destruct H as [A B]. split; [lia|].
  apply IZR_lt in A, B. split; [apply Rdiv_lt_0_compat; lra|]. apply Rmult_lt_reg_r with (IZR z); [lra|]. unfold Rdiv.
  rewrite Rmult_assoc, Rinv_l; lra.
Qed.
Lemma inside_of : forall s y, In s T -> 0 < left (W (ci (it s))) (W (cj (it s))) y ->
  0 < left (W (cj (it s))) (W (ck (it s))) y -> 0 < left (W (ck (it s))) (W (ci (it s))) y ->
  exists x, open (geo V s) x /\ Ft s x = y.
Proof.
  intros s y Hs A B C. destruct (inside_image alpha den img T s y Hs A B C) as (A' & B' & C').
  exact (onto_open V W T d M Fo s y Hs A' B' C').
Qed.
Lemma through_ok : forall i j r z t s, In t T -> In s T -> corner t i -> corner t j ->
  through n q E img i j r z s = true -> cross V W t s i j.
Proof.
  intros i j r z t s Ht Hs Hi Hj H. unfold through in H. apply andb_true_iff in H. destruct H as [H1 H2].
  destruct (amidst_ok r z H1) as [Hz Hm]. simpl in H2. rewrite !andb_true_iff in H2. destruct H2 as (L1 & L2 & L3 & _).
  apply (side_at_ok n q E alpha S0 den Hn Hroot HS HE Hden _ _ _ _ _ _ Hz) in L1, L2, L3.
  destruct (inside_of s (mid (W i) (W j) (IZR r / IZR z)) Hs L1 L2 L3) as (y & Oy & Ey).
  exists (IZR r / IZR z), y. split; [exact Hm|split; [exact Oy|]].
  rewrite Ey, Ft_mid, !(Ft_corner V W T) by (auto; exact Ccw). reflexivity.
Qed.
Lemma dot_at_ok : forall a b i j r z, (0 < z)%Z -> ispos (dot_at n q E a b i j r z) = true ->
  0 < dotp (rp a) (rp b) (mid (rp i) (rp j) (IZR r / IZR z)).
Proof.
  intros a b i j r z Hz H. apply IZR_lt in Hz. unfold dot_at in H.
  pose proof (sgn_ok alpha S0 HS E (add (scale (z - r) (kdot n q a b i)) (scale r (kdot n q a b j))) HE) as P.
  destruct (sgn E _); try discriminate.
  rewrite (val_add alpha), !(val_scale alpha), !(kdot_val n q alpha den Hn Hroot Hden), minus_IZR in P.
  fold (dotp (rp a) (rp b) (rp i)) in P. fold (dotp (rp a) (rp b) (rp j)) in P.
  rewrite (dot_mid (rp a) (rp b) (rp i) (rp j)). set (A := dotp (rp a) (rp b) (rp i)) in *.
  set (B := dotp (rp a) (rp b) (rp j)) in *.
  apply Rmult_lt_reg_l with (den * den * IZR z); [apply Rmult_lt_0_compat; [now apply den2|exact Hz]|].
  rewrite Rmult_0_r.
  replace (den * den * IZR z * ((1 - IZR r / IZR z) * A + IZR r / IZR z * B)) with
    ((IZR z - IZR r) * (den * den * A) + IZR r * (den * den * B)) by (field; lra).
  exact P.
Qed.
Lemma sharing_ok : forall i j k l r z t t' s s', inner T t t' i j -> inner T s s' k l ->
  sharing n q E img i j k l r z = true -> touch V W t s i j k l.
Proof.
  intros i j k l r z t t' s s' I J H. pose proof I as (Ht & _ & _ & _ & Hi & Hj & _).
  pose proof J as (Hs & _ & _ & _ & Hk & Hl & _). unfold sharing in H. cbv zeta in H. rewrite !andb_true_iff in H.
  destruct H as ((((A & B) & C) & P1) & P2).
  apply (sides n q E alpha S0 den Hn Hroot HS HE Hden) in A, B. destruct (amidst_ok r z C) as [Hz Hm].
  apply (dot_at_ok _ _ _ _ _ _ Hz) in P1, P2. fold (W i) in A, P1, P2. fold (W j) in B, P1, P2.
  fold (W k) in A, B, P1, P2. fold (W l) in A, B, P1, P2. set (m := IZR r / IZR z) in *.
  assert (Z : left (W k) (W l) (mid (W i) (W j) m) = 0) by (rewrite left_mid, A, B; ring).
  pose proof (inner_ne V W T d M Fo s s' k l J) as N. destruct (on_line_mid _ _ _ N Z) as (x & Ex).
  rewrite Ex in P1, P2.
  assert (E1 : dotp (W k) (W l) (mid (W k) (W l) x) = x * dotp (W k) (W l) (W l)) by (unfold dotp, mid; simpl; ring).
  assert (E2 : dotp (W l) (W k) (mid (W k) (W l) x) = (1 - x) * dotp (W k) (W l) (W l)) by (unfold dotp, mid; simpl;
    ring).
  rewrite E1 in P1. rewrite E2 in P2.
  pose proof (dot_ne _ _ N) as P. exists m, x. split; [exact Hm|split; [split; nra|split; [|auto]]].
  rewrite !Ft_mid, !(Ft_corner V W T) by (auto; exact Ccw). exact Ex.
Qed.
(* the place with these weights *)
Definition balanced (f : nat -> pt) t (a b c : R) := mid (mid (f (ci t)) (f (cj t)) (b / (a + b))) (f (ck t))
  (c / (a + b + c)).
Lemma balanced_left : forall x y f t a b c, 0 < a -> 0 < b -> 0 < c ->
  (a + b + c) * left x y (balanced f t a b c) = a * left x y (f (ci t)) +
  (b * left x y (f (cj t)) + c * left x y (f (ck t))).
Proof. intros. unfold balanced. rewrite !left_mid. field. lra. Qed.
Lemma balanced_image : forall t a b c, In t T -> 0 < a -> 0 < b -> 0 < c ->
  exists x, open (geo V t) x /\ Ft t x = balanced W t a b c.
Proof.
  intros t a b c Ht Ha Hb Hc. exists (balanced V t a b c). split.
  - pose proof (Ccw t Ht) as HC. unfold ccw, geo in HC. unfold open, geo.
    assert (Pos : forall x y, 0 < (a + b + c) * left x y (balanced V t a b c) -> 0 < left x y (balanced V t a b c)) by
      (intros x y P; apply Rmult_lt_reg_l with (a + b + c); lra).
    assert (Z1 : forall x y, left x y x = 0) by (intros; unfold left; ring).
    assert (Z2 : forall x y, left x y y = 0) by (intros; unfold left; ring).
    set (i := V (ci t)) in *. set (j := V (cj t)) in *. set (k := V (ck t)) in *.
    assert (C1 : left j k i = left i j k) by (unfold left; ring).
    assert (C2 : left k i j = left i j k) by (unfold left; ring).
    repeat split; apply Pos; rewrite balanced_left by auto; fold i j k; rewrite ?Z1, ?Z2, ?C1, ?C2, ?Rmult_0_r;
      [pose proof (Rmult_lt_0_compat c _ Hc HC)|pose proof (Rmult_lt_0_compat a _ Ha HC)|pose proof
      (Rmult_lt_0_compat b _ Hb HC)]; lra.
  - unfold balanced. rewrite !Ft_mid, !(Ft_corner V W T) by (auto; try exact Ccw; unfold corner; auto). reflexivity.
Qed.
Lemma weighted_ok : forall x y t a b c, (0 < a)%Z -> (0 < b)%Z -> (0 < c)%Z ->
  ispos (weighted n q E img (line_of n q x y) t a b c) = true -> 0 < left (rp x) (rp y)
  (balanced W t (IZR a) (IZR b) (IZR c)).
Proof.
  intros x y t a b c Ha Hb Hc H. apply IZR_lt in Ha, Hb, Hc. unfold weighted in H. set (l := line_of n q x y) in *.
  pose proof (sgn_ok alpha S0 HS E (add (scale a (lv n q l (img (ci t))))
    (add (scale b (lv n q l (img (cj t)))) (scale c (lv n q l (img (ck t)))))) HE) as P.
  destruct (sgn E _); try discriminate.
  unfold l in P. rewrite !(val_add alpha), !(val_scale alpha), !(lv_val n q alpha den Hn Hroot Hden) in P.
  apply Rmult_lt_reg_l with ((den * den) * (IZR a + IZR b + IZR c)); [apply Rmult_lt_0_compat; [now apply den2|lra]|].
  rewrite Rmult_0_r, Rmult_assoc, balanced_left by auto. unfold MeshCheck.place in *. lra.
Qed.
Lemma place_ok : forall s t a b c, In s T -> In t T -> holds_place n q E img s t a b c = true ->
  exists x y, open (geo V t) x /\ open (geo V s) y /\ Ft t x = balanced W t (IZR a) (IZR b) (IZR c) /\
  Ft s y = balanced W t (IZR a) (IZR b) (IZR c).
Proof.
  intros s t a b c Hs Ht H. unfold holds_place in H. rewrite !andb_true_iff, !Z.ltb_lt in H.
  destruct H as (((A & B) & C) & L). simpl in L. rewrite !andb_true_iff in L. destruct L as (L1 & L2 & L3 & _).
  apply (weighted_ok _ _ _ _ _ _ A B C) in L1, L2, L3.
  destruct (inside_of s _ Hs L1 L2 L3) as (y & Oy & Ey). apply IZR_lt in A, B, C.
  destruct (balanced_image t _ _ _ Ht A B C) as (x & Ox & Ex). exists x, y. auto.
Qed.
Lemma over_sym : forall t s, over V W t s -> over V W s t.
Proof. intros t s (x & y & A & B & C). exists y, x. auto. Qed.
Lemma over_ok_ok : forall t s a b c, over_ok n q E img T ((t, s), ((a, b), c)) = true ->
  In t T /\ In s T /\ t <> s /\ over V W t s.
Proof.
  intros t s a b c H. unfold over_ok in H. rewrite !andb_true_iff in H. destruct H as (((A & B) & C) & P).
  apply is_in_ok in A, B. apply tr_ne in C. destruct (place_ok s t a b c B A P) as (x & y & Ox & Oy & Ex & Ey).
  repeat (split; [assumption|]). exists x, y. split; [assumption|split; [assumption|congruence]].
Qed.
Section Known.
Variables (os : list (lit * (Z * Z * Z))).
Hypothesis Hos : forallb (over_ok n q E img T) os = true.
Notation kn := (known (map fst os)).
Lemma known_over : forall l, kn l = true -> In (fst l) T /\ In (snd l) T /\ fst l <> snd l /\ over V W (fst l) (snd l).
Proof.
  intros [t s] H. unfold known in H. cbn [fst snd]. rewrite forallb_forall in Hos. apply orb_true_iff in H.
  destruct H as [H|H]; apply among_iff, in_map_iff in H; destruct H as ([[x y] [[a b] c]] & Q & I); cbn [fst] in Q;
    specialize (Hos _ I); apply over_ok_ok in Hos; destruct Hos as (A & B & C & O).
  - injection Q as -> ->. auto.
  - unfold opp in Q; cbn [fst snd] in Q. injection Q as -> ->. repeat split; auto. now apply over_sym.
Qed.
Lemma known_total : forall l, kn l = true -> (holds gt l \/ holds gt (opp l)) /\ ~ (holds gt l /\ holds gt (opp l)).
Proof. intros l H. destruct (known_over l H) as (A & B & C & O). exact (g_total V W T d gt La _ _ A B C O). Qed.
Lemma same_holds : forall a b, (holds gt a <-> holds gt b) -> (forall c, In c (same a b) -> forallb kn c = true) ->
  forall c, In c (same a b) -> clause_holds gt c.
Proof.
  intros a b Ef Kn c I.
  assert (Ka : kn a = true) by (specialize (Kn [a; opp b] (or_introl eq_refl)); simpl in Kn;
    rewrite andb_true_iff in Kn; tauto).
  assert (Kb : kn b = true) by (specialize (Kn [opp a; b] (or_intror (or_introl eq_refl))); simpl in Kn;
    rewrite !andb_true_iff in Kn; tauto).
  pose proof (known_total a Ka) as Ta. pose proof (known_total b Kb) as Tb. destruct I as [<-|[<-|[]]].
  - destruct (proj1 Ta) as [H|H]; [exists a; split; [now left|exact H]|]. exists (opp b). split; [right; now left|].
    tauto.
  - destruct (proj1 Ta) as [H|H]; [exists b; split; [right; now left|]; tauto|]. exists (opp a).
    split; [now left|exact H].
Qed.
Lemma decided : forall l, kn l = true -> holds gt l \/ (holds gt (opp l) /\ ~ holds gt l).
Proof.
  intros l H.
  destruct (known_total l H) as ([A|A] & B); [now left|right; split; [exact A|intro C; exact (B (conj C A))]].
Qed.
Ltac odd_one := exfalso; match goal with Ef : (?x <-> ?y) <-> (?z <-> ?w) |- _ =>
  first [assert (X : x <-> y) by (split; intro; first [assumption|contradiction]); apply (proj1 Ef) in X; destruct X;
    solve [auto] |assert (X : z <-> w) by (split; intro; first [assumption|contradiction]); apply (proj2 Ef) in X;
    destruct X; solve [auto]] end.
Lemma evenly_holds : forall a b c e, ((holds gt a <-> holds gt b) <-> (holds gt c <-> holds gt e)) -> kn a = true ->
  kn b = true -> kn c = true -> kn e = true -> forall x, In x (evenly a b c e) -> clause_holds gt x.
Proof.
  intros a b c e Ef Ka Kb Kc Ke x I. pose proof (decided a Ka) as Ta. pose proof (decided b Kb) as Tb.
  pose proof (decided c Kc) as Tc. pose proof (decided e Ke) as Te.
  assert (Pick : forall p r s t l, In l [p; r; s; t] -> holds gt l -> clause_holds gt [p; r; s; t]) by
    (intros p r s t l Il H; exists l; auto).
  unfold evenly in I. cbv zeta in I.
  destruct Ta as [A|[A A']], Tb as [B|[B B']], Tc as [C|[C C']], Te as [G|[G G']]; try odd_one; clear Ef;
   repeat (apply in_inv in I; destruct I as [<-|I]; [first [apply (Pick _ _ _ _ a);
     [simpl; auto; fail|exact A]|apply (Pick _ _ _ _ (opp a)); [simpl; auto; fail|exact A]|apply (Pick _ _ _ _ b);
     [simpl; auto; fail|exact B]|apply (Pick _ _ _ _ (opp b)); [simpl; auto; fail|exact B]|
     apply (Pick _ _ _ _ c); [simpl; auto; fail|exact C]|apply (Pick _ _ _ _ (opp c));
       [simpl; auto; fail|exact C]|apply (Pick _ _ _ _ e); [simpl; auto 6; fail|exact G]|apply (Pick _ _ _ _ (opp e));
       [simpl; auto 6; fail|exact G]]|]); destruct I.
Qed.
Theorem clauses_ok : forall x cl, clauses n q E img T ms vs x = Some cl -> (forall c, In c cl -> forallb kn c = true) ->
  forall c, In c cl -> clause_holds gt c.
Proof.
  intros x cl H Kn.
  assert (Kl : forall c l, In c cl -> In l c -> kn l = true) by (intros c l Ic Il; specialize (Kn c Ic);
    rewrite forallb_forall in Kn; auto).
  destruct x as [[[i j] [t u]]|[[i j] [t u]] s r z|[[i j] [t t']] [[k l] [s s']] r z|[[i j] [t t']] [[k l] [s s']] r
    z|[[i j] [t t']] [[k l] [s s']] r z|t s w a b c]; cbn [clauses] in H.
  - destruct (seam_ok T (i, j, (t, u)) && negb (tu t) && tu u) eqn:Q; [|discriminate].
    rewrite !andb_true_iff, negb_true_iff in Q. destruct Q as ((Q1 & Q2) & Q3). apply seam_inner in Q1.
    assert (G : forall k, k = Mountain \/ k = Valley -> edge_in i j (marked cr cs k) = true ->
      (k = Mountain -> gt t u) /\ (k = Valley -> gt u t)).
    { intros k Hk Ed. destruct (marked_crease k i j (1 / 2) Hk Ed ltac:(lra)) as (a & b & Ic & Fk & Sk).
      apply (g_0 V W T d gt La t u i j (1 / 2) k Q1 ltac:(lra)); auto.
      split; [exact (edge_inside V T d M t u i j (1 / 2) Q1 ltac:(lra))|exists a, b; auto]. }
    destruct (edge_in i j ms) eqn:Em; [injection H as <-; intros c [<-|[]]; exists (t, u); split; [now left|];
      apply (G Mountain); auto|].
    destruct (edge_in i j vs) eqn:Ev; [|discriminate]. injection H as <-. intros c [<-|[]]. exists (u, t).
    split; [now left|]. apply (G Valley); auto.
  - destruct (seam_ok T (i, j, (t, u)) && is_in T s && through n q E img i j r z s) eqn:Q; [|discriminate].
    rewrite !andb_true_iff in Q. destruct Q as ((Q1 & Q2) & Q3). apply seam_inner in Q1. apply is_in_ok in Q2.
    injection H as <-. pose proof Q1 as (Ht & _ & _ & _ & Hi & Hj & _).
    apply same_holds; [|exact Kn].
    exact (proj1 (g_45 V W T d gt La t u s i j Q1 Q2 (through_ok i j r z t s Ht Q2 Hi Hj Q3))).
  - destruct (seam_ok T (i, j, (t, t')) && seam_ok T (k, l, (s, s')) && eqb (tu t) (tu t') && eqb (tu s) (tu s') &&
      sharing n q E img i j k l r z) eqn:Q; [|discriminate].
    rewrite !andb_true_iff in Q. destruct Q as ((((Q1 & Q2) & Q3) & Q4) & Q5). apply seam_inner in Q1, Q2.
    apply eqb_prop in Q3, Q4. injection H as <-.
    apply same_holds; [|exact Kn].
    apply (g_3 V W T d gt La t t' s s' i j k l Q1 Q2 Q3 Q4 (sharing_ok _ _ _ _ _ _ _ _ _ _ Q1 Q2 Q5)).
    + apply (known_over (t, s)), (Kl _ _ (or_introl eq_refl)). now left.
    + apply (known_over (t', s')), (Kl _ _ (or_intror (or_introl eq_refl))). right. now left.
  - destruct (seam_ok T (i, j, (t, t')) && seam_ok T (k, l, (s, s')) && eqb (tu s) (tu s') &&
      sharing n q E img i j k l r z) eqn:Q; [|discriminate].
    rewrite !andb_true_iff in Q. destruct Q as (((Q1 & Q2) & Q4) & Q5). apply seam_inner in Q1, Q2.
    apply eqb_prop in Q4. injection H as <-.
    apply same_holds; [|exact Kn].
    apply (g_2 V W T d gt La t t' s s' i j k l Q1 Q2 Q4 (sharing_ok _ _ _ _ _ _ _ _ _ _ Q1 Q2 Q5)).
    + apply (known_over (t, s)), (Kl _ _ (or_introl eq_refl)). now left.
    + apply (known_over (t', s)), (Kl _ _ (or_intror (or_introl eq_refl))). right. now left.
  - destruct (seam_ok T (i, j, (t, t')) && seam_ok T (k, l, (s, s')) && negb (tr_eqb t s) && negb (tr_eqb t s') &&
      negb (tr_eqb t' s) && negb (tr_eqb t' s') && sharing n q E img i j k l r z) eqn:Q; [|discriminate].
    rewrite !andb_true_iff in Q. destruct Q as ((((((Q1 & Q2) & N1) & N2) & N3) & N4) & Q5). apply seam_inner in Q1, Q2.
    apply tr_ne in N1, N2, N3, N4. injection H as <-.
    assert (Third : forall e, In e [(t, s); (t', s); (t, s'); (t', s')] -> kn e = true).
    { intros e Ie.
      destruct (in_inv Ie) as [<-|Ie1]; [apply (Kl [(t, s); opp (t', s); (t, s'); (t', s')]); simpl; auto|].
      destruct (in_inv Ie1) as [<-|Ie2]; [apply (Kl [opp (t, s); (t', s); (t, s'); (t', s')]); simpl; auto|].
      destruct (in_inv Ie2) as [<-|Ie3]; [apply (Kl [opp (t, s); (t', s); (t, s'); (t', s')]); simpl; auto|].
      destruct (in_inv Ie3) as [<-|[]]. apply (Kl [opp (t, s); (t', s); (t, s'); (t', s')]); simpl; auto. }
    assert (K1 : kn (t, s) = true) by (apply Third; simpl; auto).
    assert (K2 : kn (t', s) = true) by (apply Third; simpl; auto).
    assert (K3 : kn (t, s') = true) by (apply Third; simpl; auto).
    assert (K4 : kn (t', s') = true) by (apply Third; simpl; auto 6).
    apply evenly_holds; auto.
    apply (g_1 V W T d gt La t t' s s' i j k l Q1 Q2 N1 N2 N3 N4 (sharing_ok _ _ _ _ _ _ _ _ _ _ Q1 Q2 Q5));
      [exact (proj2 (proj2 (proj2 (known_over _ K1))))|exact (proj2 (proj2 (proj2 (known_over _ K3))))|exact
      (proj2 (proj2 (proj2 (known_over _ K2))))|exact (proj2 (proj2 (proj2 (known_over _ K4))))].
  - destruct (is_in T t && is_in T s && is_in T w && negb (tr_eqb t s) && negb (tr_eqb s w) && negb (tr_eqb t w) &&
      holds_place n q E img s t a b c && holds_place n q E img w t a b c) eqn:Q; [|discriminate].
    rewrite !andb_true_iff in Q. destruct Q as (((((((Q1 & Q2) & Q3) & N1) & N2) & N3) & P1) & P2).
    apply is_in_ok in Q1, Q2, Q3. apply tr_ne in N1, N2, N3. injection H as <-.
    destruct (place_ok s t a b c Q2 Q1 P1) as (x & y & Ox & Oy & Ex & Ey),
      (place_ok w t a b c Q3 Q1 P2) as (x' & z & Ox' & Oz & Ex' & Ez).
    assert (Kts : kn (s, t) = true) by (apply (Kl _ _ (or_introl eq_refl)); simpl; auto).
    assert (Ksw : kn (w, s) = true) by (apply (Kl _ _ (or_introl eq_refl)); simpl; auto).
    assert (Ktw : kn (t, w) = true) by (apply (Kl _ _ (or_introl eq_refl)); simpl; auto).
    pose proof (known_total _ Kts) as (T1 & _). pose proof (known_total _ Ksw) as (T2 & _).
    pose proof (known_total _ Ktw) as (T3 & _). unfold holds, opp in T1, T2, T3; cbn [fst snd] in T1, T2, T3.
    intros e [<-|[<-|[]]].
    + destruct T1 as [H|H]; [exists (s, t); simpl; auto|]. destruct T2 as [H'|H']; [exists (w, s); simpl; auto|].
      exists (t, w). split; [simpl; auto|]. apply (g_trans V W T d gt La t s w x y z); auto; congruence.
    + destruct T1 as [H|H]; [|exists (t, s); simpl; auto]. destruct T2 as [H'|H']; [|exists (s, w); simpl; auto].
      exists (w, t). split; [simpl; auto|]. apply (g_trans V W T d gt La w s t z y x); auto; congruence.
Qed.
Lemma all_clauses_ok : forall rs cl, all_clauses n q E img T ms vs rs = Some cl ->
  (forall c, In c cl -> forallb kn c = true) -> forall c, In c cl -> clause_holds gt c.
Proof.
  induction rs as [|x rs IH]; intros cl H Kn c I; cbn [all_clauses] in H; [injection H as <-; destruct I|].
  destruct (clauses n q E img T ms vs x) as [a|] eqn:Ea; [|discriminate].
  destruct (all_clauses n q E img T ms vs rs) as [b|]; [|discriminate]. injection H as <-.
  apply in_app_or in I.
  destruct I as [I|I]; [apply (clauses_ok x a Ea)|apply (IH b eq_refl)]; auto; intros e Ie; apply Kn, in_or_app; auto.
Qed.
End Known.
Theorem refutes_ok : forall os rs steps, refutes n q E img T ms vs os rs steps = true -> False.
Proof.
  intros os rs steps H. unfold refutes in H. cbv zeta in H. apply andb_true_iff in H. destruct H as [H1 H2].
  destruct (all_clauses n q E img T ms vs rs) as [cl|] eqn:Q; [|discriminate]. apply andb_true_iff in H2.
  destruct H2 as [H2 H3]. rewrite forallb_forall in H2.
  apply (derive_ok gt (known (map fst os)) (known_total os H1) steps cl); [|exact H3]. intros c I.
  split; [|now apply H2]. exact (all_clauses_ok os H1 rs cl Q H2 c I).
Qed.
End Sound.
Theorem no_order_sound : sound_refuted (certificate * ((tr * list (nat * nat * (tr * tr))) *
  (list (lit * (Z * Z * Z)) * list reason * list (list lit * list nat))))
  (fun D x => let '(c, ((t0, l), ((os, rs), steps))) := x in check_no_order D c t0 l os rs steps).
Proof.
  intros D [c [[t0 l] [[os rs] steps]]] H d Md (G & above & FG & (N & Z & LO) & _). unfold check_no_order in H.
  rewrite !andb_true_iff in H. destruct H as (((((H1 & H2) & H3) & H4) & H5) & H6).
  destruct (field_sound _ H1) as (Hn & alpha & Hr & HE). pose proof (points_ok D c alpha Hn Hr HE H2) as Mp.
  rewrite (means_one D d _ Md Mp) in *. clear d Md.
  destruct (only_fold_map D c alpha Hn Hr HE t0 l H3 H4 H5) as (M & Fo & Ch & Un).
  destruct (Un G FG) as (g & a & b & x & y & Hg & Hab & Eq).
  destruct (order_back _ _ G g a b x y above N Z Hg Hab Eq LO) as (N' & Z' & LO').
  exact (refutes_ok _ _ _ alpha _ _ (pts c) (img c) (tris c) _ (crease_chains c) Hn Hr (size_pos _) HE (pos_pos _) M Fo
    Ch _ (layers_necessary _ _ _ _ _ N' Z' M Fo LO') os rs steps H6).
Qed.
