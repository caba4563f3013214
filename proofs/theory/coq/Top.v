(* ASSEMBLED: finite conditions on triangles, pair by pair  ==>  the document folds flat and the line frees exactly the
   target. *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover Paste Layers FoldMap Cut.
Import ListNotations.
Open Scope R_scope.
Definition lineof (a b : pt) : line := (- (snd b - snd a), fst b - fst a,
  (fst b - fst a) * snd a - (snd b - snd a) * fst a).
Lemma lineof_on : forall a b p, on_line (lineof a b) p <-> left a b p = 0.
Proof. intros. unfold on_line, lineof, left. split; intro; lra. Qed.
Definition tpairs (t : tr) := [(ci t, cj t); (cj t, ck t); (ck t, ci t)].
Lemma tpairs_in : forall t i j, corner t i -> corner t j -> i <> j -> In (i, j) (tpairs t) \/ In (j, i) (tpairs t).
Proof. intros t i j [-> | [-> | ->]] [-> | [-> | ->]] D; try congruence; simpl; auto. Qed.
Definition meeting (l m : line) : pt := let '(A, B, C) := l in let '(A', B', C') :=
  m in ((C * B' - C' * B) / (A * B' - A' * B), (A * C' - A' * C) / (A * B' - A' * B)).
Section Top.
Variables (V W : nat -> pt) (T : list tr) (d : doc).
Definition Es := flat_map tpairs T.
Definition Ls := map (fun e => lineof (W (fst e)) (W (snd e))) Es.                                   (* N *)
Definition Zs := map W (map fst Es) ++ flat_map (fun l => map (meeting l) Ls) Ls.                     (* Z *)

Record mesh : Prop := {            (* the triangles are the sheet *)
  m_ccw : forall t, In t T -> ccw (geo V t);
  m_ne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t;
  m_par : forall p, odd (outline d) p = odd (flat_map tedges (map (geo V) T)) p;
  m_apart : ForallOrdPairs apart (map (geo V) T);
  m_P1 : forall t u q, In t T -> In u T -> open (geo V t) q -> closed (geo V u) q -> t = u;
  m_P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
    closed (geo V u) (mid (V i) (V j) l) -> corner u i /\ corner u j;
  m_P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo V u) (V i) -> corner u i;
  m_sides : forall t t' i j, inner T t t' i j -> sides V t t' i j \/ sides V t' t i j;
  m_two : forall t t' u i j, inner T t t' i j -> In u T -> corner u i -> corner u j -> u = t \/ u = t';
  m_inner : forall s k l m, In s T -> k <> l -> corner s k -> corner s l -> 0 < m < 1 -> inside d (mid (V k) (V l) m) ->
    exists s', inner T s s' k l }.
Record folds : Prop := {           (* the images fold it along the document's lines *)
  f_congr : forall t, In t T -> congr V W t;
  f_flat : forall t t' i j l, inner T t t' i j -> 0 < l < 1 -> ~ on_fold d (mid (V i) (V j) l) -> tu t = tu t';
  f_star : forall t u i, In t T -> In u T -> corner t i -> corner u i -> ~ on_fold d (V i) ->
    tu u = tu t /\ forall q, Ft V W u q = Ft V W t q;
  f_crease : forall a b k p, In (a, b, k) (creases d) -> is_fold k -> on_seg a b p ->
    exists t i j m, In t T /\ corner t i /\ corner t j /\ i <> j /\ 0 <= m <= 1 /\ p = mid (V i) (V j) m /\
   left (V i) (V j) a = 0 /\ left (V i) (V j) b = 0 /\ (fst b - fst a) * (fst (V j) - fst (V i)) + (snd b - snd a) *
     (snd (V j) - snd (V i)) <> 0 /\ (forall t', inner T t t' i j -> sg t' = - sg t) }.
Record layers (gt : tr -> tr -> Prop) : Prop := {   (* 0 - 6 of layer-order.md, L3 *)
  g_total : forall t s, In t T -> In s T -> t <> s -> over V W t s -> (gt t s \/ gt s t) /\ ~ (gt t s /\ gt s t);
  g_trans : forall t s w x y z, In t T -> In s T -> In w T -> t <> s -> s <> w -> t <> w -> open (geo V t) x ->
    open (geo V s) y -> open (geo V w) z ->
   Ft V W t x = Ft V W s y -> Ft V W s y = Ft V W w z -> gt t s -> gt s w -> gt t w;
  g_45 : forall t t' s i j, inner T t t' i j -> In s T -> cross V W t s i j ->
    (gt t s <-> gt t' s) /\ (gt s t <-> gt s t');
  g_3 : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> tu t = tu t' -> tu s = tu s' ->
    touch V W t s i j k l -> over V W t s -> over V W t' s' -> (gt t s <-> gt t' s');
  g_2 : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> tu s = tu s' -> touch V W t s i j k l ->
    over V W t s -> over V W t' s -> (gt t s <-> gt t' s);
  g_1 : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> t <> s -> t <> s' -> t' <> s -> t' <> s' ->
    touch V W t s i j k l -> over V W t s -> over V W t s' -> over V W t' s -> over V W t' s' ->
   ((gt t s <-> gt t' s) <-> (gt t s' <-> gt t' s'));
  g_0 : forall t t' i j l k, inner T t t' i j -> 0 < l < 1 -> crease d k (mid (V i) (V j) l) -> tu t = false ->
    tu t' = true -> (k = Mountain -> gt t t') /\ (k = Valley -> gt t' t) }.
Record cuts (S : pt -> Prop) : Prop := {       (* the blade meets the open sheet in the target and nowhere else *)
  c_open : forall t x, In t T -> open (geo V t) x -> ~ S (Ft V W t x);
  c_edge : forall t i j m, In t T -> corner t i -> corner t j -> i <> j -> 0 < m < 1 -> S (mid (W i) (W j) m) ->
    inside d (mid (V i) (V j) m) -> on_target d (mid (V i) (V j) m);
  c_corner : forall t i, In t T -> corner t i -> S (W i) -> inside d (V i) -> on_target d (V i);
  c_target : forall p, on_target d p -> exists t, In t T /\ closed (geo V t) p /\ (inside d p -> S (Ft V W t p)) }.

Hypothesis M : mesh. Hypothesis Fo : folds.
Lemma m_cover : forall p, sheet d p <-> exists t, In t T /\ closed (geo V t) p.
Proof.
  intro p. rewrite (cover d (map (geo V) T)).
  - split; intros (t & Ht & C); [apply in_map_iff in Ht; destruct Ht as (u & <- & Hu); eauto|exists (geo V t); split;
      auto; now apply in_map].
  - intros t Ht. apply in_map_iff in Ht. destruct Ht as (u & <- & Hu). now apply m_ccw.
  - apply m_par, M. - apply m_apart, M.
Qed.
Lemma sides_opp : forall t t' i j x x', inner T t t' i j -> open (geo V t) x -> open (geo V t') x' ->
  left (V i) (V j) x * left (V i) (V j) x' < 0.
Proof.
  assert (Str : forall t i j x, In t T -> corner t i -> corner t j -> i <> j -> open (geo V t) x ->
    left (V i) (V j) x <> 0).
  { intros t i j x Ht Hi Hj D (O1 & O2 & O3) E.
    assert (Sw : forall a b, left a b x = - left b a x) by (intros; unfold left; ring).
    destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence; rewrite ?E in *; try lra; rewrite Sw in E;
      lra. }
  assert (Cl : forall t x, open (geo V t) x -> closed (geo V t) x) by (intros t x (A & B & C); unfold closed; simpl;
    lra).
  intros t t' i j x x' I O O'. pose proof I as (Ht & Ht' & _ & D & Hi & Hj & Hi' & Hj').
  pose proof (Str t i j x Ht Hi Hj D O). pose proof (Str t' i j x' Ht' Hi' Hj' D O').
  destruct (m_sides M t t' i j I) as [[A B]|[A B]]; [pose proof (A x (Cl _ _ O));
    pose proof (B x' (Cl _ _ O'))|pose proof (A x' (Cl _ _ O')); pose proof (B x (Cl _ _ O))].
  - assert (0 < left (V i) (V j) x) by lra. assert (left (V i) (V j) x' < 0) by lra. nra.
  - assert (left (V i) (V j) x < 0) by lra. assert (0 < left (V i) (V j) x') by lra. nra.
Qed.
Lemma same_side : forall t i j x x', In t T -> i <> j -> corner t i -> corner t j -> open (geo V t) x ->
  open (geo V t) x' -> 0 < left (V i) (V j) x * left (V i) (V j) x'.
Proof.
  intros t i j x x' Ht D Hi Hj (O1 & O2 & O3) (O1' & O2' & O3').
  assert (Sw : forall a b y, left a b y = - left b a y) by (intros; unfold left; ring).
  destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence; try (apply Rmult_lt_0_compat; assumption);
   rewrite (Sw _ _ x), (Sw _ _ x'), Rmult_opp_opp; apply Rmult_lt_0_compat; assumption.
Qed.
Lemma W_len : forall t i j, In t T -> corner t i -> corner t j -> i <> j ->
  0 < (fst (W j) - fst (W i)) * (fst (W j) - fst (W i)) + (snd (W j) - snd (W i)) * (snd (W j) - snd (W i)).
Proof.
  intros t i j Ht Hi Hj D. pose proof (V_ne V T (m_ccw M) t i j Ht Hi Hj D) as N.
  destruct (Ft_rigid V W T (m_ccw M) (f_congr Fo) t Ht) as (c & s & tx & ty & E & H).
  pose proof (Ft_corner V W T (m_ccw M) t i Ht Hi) as Ei. pose proof (Ft_corner V W T (m_ccw M) t j Ht Hj) as Ej.
  rewrite H in Ei, Ej. rewrite <- Ei, <- Ej. cbn [fst snd].
  assert (G : sg t * sg t = 1) by (destruct (sg_cases t) as [-> | ->]; ring).
  set (x := fst (V j) - fst (V i)). set (y := snd (V j) - snd (V i)).
  assert (X : x * x + y * y <> 0).
  { intro Z. destruct (Rplus_sqr_eq_0 x y Z). apply N. unfold x, y in *.
    destruct (V i), (V j); simpl in *; f_equal; lra. }
  assert (X0 : 0 <= x * x + y * y) by (apply Rplus_le_le_0_compat; apply Rle_0_sqr).
  assert (Eq : (tx + c * fst (V j) - sg t * s * snd (V j) - (tx + c * fst (V i) - sg t * s * snd (V i))) *
    (tx + c * fst (V j) - sg t * s * snd (V j) - (tx + c * fst (V i) - sg t * s * snd (V i))) +
    (ty + s * fst (V j) + sg t * c * snd (V j) - (ty + s * fst (V i) + sg t * c * snd (V i))) *
      (ty + s * fst (V j) + sg t * c * snd (V j) - (ty + s * fst (V i) + sg t * c * snd (V i))) = x * x + y * y).
  { transitivity ((c * c + s * s) * (x * x) + (sg t * sg t) * (c * c + s * s) * (y * y)); [unfold x, y; ring|].
    rewrite E, G. ring. }
  rewrite Eq. lra.
Qed.
Lemma N_proper : forall l, In l Ls -> proper l.
Proof.
  intros l Hl. apply in_map_iff in Hl. destruct Hl as ([i j] & <- & He). apply in_flat_map in He.
  destruct He as (t & Ht & He).
  assert (X : corner t i /\ corner t j /\ i <> j).
  { destruct (m_ne M t Ht) as (A & B & C). unfold corner. simpl in He.
    destruct He as [He|[He|[He|[]]]]; injection He as <- <-; auto. }
  destruct X as (Hi & Hj & D). pose proof (W_len t i j Ht Hi Hj D). unfold proper, lineof; simpl. nra.
Qed.
Lemma in_E : forall t i j, In t T -> corner t i -> corner t j -> i <> j -> In (i, j) Es \/ In (j, i) Es.
Proof.
  intros t i j Ht Hi Hj D. unfold Es. destruct (tpairs_in t i j Hi Hj D); [left|right]; apply in_flat_map; eauto.
Qed.
Lemma N_off : forall t i j p, In t T -> corner t i -> corner t j -> i <> j -> off Ls p -> left (W i) (W j) p <> 0.
Proof.
  intros t i j p Ht Hi Hj D O E. destruct (in_E t i j Ht Hi Hj D) as [X|X].
  - apply (O (lineof (W i) (W j))); [apply in_map_iff; exists (i, j); auto|now apply lineof_on].
  - apply (O (lineof (W j) (W i))); [apply in_map_iff; exists (j, i); auto|apply lineof_on]. rewrite left_swap, E. ring.
Qed.
Lemma Z_corner : forall t i, In t T -> corner t i -> In (W i) Zs.
Proof.
  intros t i Ht Hi. unfold Zs. apply in_or_app. left. apply in_map. apply in_map_iff.
  assert (X : exists j, In (i, j) (tpairs t)) by (destruct Hi as [-> | [-> | ->]]; simpl; eauto). destruct X as (j & X).
  exists (i, j). split; auto. apply in_flat_map. eauto.
Qed.
Lemma Z_meet : forall t s i j k l p, In t T -> In s T -> corner t i -> corner t j -> corner s k -> corner s l ->
  i <> j -> k <> l ->
   left (W i) (W j) p = 0 -> left (W k) (W l) p = 0 -> ~ In p Zs -> left (W k) (W l) (W i) = 0 /\
     left (W k) (W l) (W j) = 0.
Proof.
  assert (Core : forall i j k l p, 0 < (fst j - fst i) * (fst j - fst i) + (snd j - snd i) * (snd j - snd i) ->
    left i j p = 0 -> left k l p = 0 ->
     (fst j - fst i) * (snd l - snd k) - (snd j - snd i) * (fst l - fst k) = 0 -> left k l i = 0 /\ left k l j = 0).
  { intros i j k l p P A B D. unfold left in *. set (ux := fst j - fst i) in *. set (uy := snd j - snd i) in *.
    set (vx := fst l - fst k) in *. set (vy := snd l - snd k) in *.
    set (wx := fst p - fst i) in *. set (wy := snd p - snd i) in *. set (n := ux * ux + uy * uy) in *.
    assert (X : n * (vx * wy - vy * wx) = 0).
    { transitivity ((ux * vx + uy * vy) * (ux * wy - uy * wx) - (ux * vy - uy * vx) * (ux * wx + uy * wy));
        [unfold n; ring|rewrite A, D; ring]. }
    apply Rmult_integral in X. destruct X as [X|X]; [lra|].
    assert (Y1 : vx * (snd i - snd k) - vy * (fst i - fst k) = 0).
    { transitivity ((vx * (snd p - snd k) - vy * (fst p - fst k)) - (vx * wy - vy * wx));
        [unfold wx, wy; ring|rewrite B, X; ring]. }
    split; auto.
    transitivity ((vx * (snd i - snd k) - vy * (fst i - fst k)) - (ux * vy - uy * vx));
      [unfold ux, uy; ring|rewrite Y1, D; ring]. }
  intros t s i j k l p Ht Hs Hi Hj Hk Hl D D' A B NZ. pose proof (W_len t i j Ht Hi Hj D) as P.
  destruct (Req_dec ((fst (W j) - fst (W i)) * (snd (W l) - snd (W k)) - (snd (W j) - snd (W i)) *
    (fst (W l) - fst (W k))) 0) as [E|E]; [now apply (Core (W i) (W j) (W k) (W l) p)|].
  exfalso. apply NZ. unfold Zs. apply in_or_app. right.
  assert (Cr : forall a b c e : pt, left a b p = 0 -> left c e p = 0 ->
    (fst b - fst a) * (snd e - snd c) - (snd b - snd a) * (fst e - fst c) <> 0 ->
    meeting (lineof a b) (lineof c e) = p).
  { intros a b c e LA LC ND. unfold meeting, lineof, left in *. destruct p as [px py]; simpl in *.
    set (ux := fst b - fst a) in *. set (uy := snd b - snd a) in *. set (vx := fst e - fst c) in *.
    set (vy := snd e - snd c) in *.
    assert (CA : ux * snd a - uy * fst a = ux * py - uy * px) by lra.
    assert (CC : vx * snd c - vy * fst c = vx * py - vy * px) by lra. rewrite CA, CC. f_equal; field; lra. }
  assert (In_ : forall e f, In e Es -> In f Es -> In (meeting (lineof (W (fst e)) (W (snd e)))
    (lineof (W (fst f)) (W (snd f)))) (flat_map (fun l => map (meeting l) Ls) Ls)).
  { intros e f He Hf. apply in_flat_map. exists (lineof (W (fst e)) (W (snd e))).
    split; [unfold Ls; apply in_map_iff; eauto|]. apply in_map. unfold Ls. apply in_map_iff. eauto. }
  destruct (in_E t i j Ht Hi Hj D) as [X|X], (in_E s k l Hs Hk Hl D') as [Y|Y]; pose proof (In_ _ _ X Y) as I;
    cbn [fst snd] in I; rewrite Cr in I; auto; try (rewrite left_swap; lra); intro Q; apply E; lra.
Qed.
Theorem its_fold_map : fold_map d (F V W T).
Proof. apply (is_fold_map V W T d); try apply M; try apply Fo; exact m_cover. Qed.
Theorem its_layer_order : forall gt, layers gt -> layer_order d (F V W T) (above V T gt).
Proof.
  intros gt G. exists Ls, Zs. apply (layer_order_from_finite V W T d); try apply M; try apply Fo; try apply G;
   first [exact m_cover | exact N_proper | exact sides_opp | exact same_side | exact N_off | exact Z_corner | exact
     Z_meet | exact W_len].
Qed.
Theorem its_cut : forall S, cuts S -> cut_by d (F V W T) S.
Proof. intros S C. apply (cut_is_target V W T d S); try apply M; try apply Fo; try apply C. exact m_cover. Qed.
Theorem flat_top : forall gt, layers gt -> folds_flat d.
Proof. intros gt G. exists (F V W T), (above V T gt). split; [exact its_fold_map|exact (its_layer_order gt G)]. Qed.
Theorem cut_top : forall gt l, layers gt -> proper l -> cuts (on_line l) -> frees d.
Proof.
  intros gt l G P C. exists (F V W T), (above V T gt).
  split; [exact its_fold_map|split; [exact (its_layer_order gt G)|]].
  exists l. split; [assumption|exact (its_cut _ C)].
Qed.
End Top.
