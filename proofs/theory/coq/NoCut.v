(* A cut that would free the target cannot: paper that is not target on what every cut must cover, or target edges of
   which no two can lie on one snip. *)
Require Import Reals List Bool Lra Psatz Arith Lia.
Require Import Statement Document Cross Cover Paste Layers FoldMap Edge Cut Top Closure FoldMapUnique.
Require Chain LayerCheck Drawn.
Import ListNotations.
Open Scope R_scope.
Lemma on_line_left : forall l a b c, proper l -> on_line l a -> on_line l b -> on_line l c -> left a b c = 0.
Proof.
  intros [[A B] C] a b c P Ha Hb Hc. unfold on_line, proper in *. unfold left.
  assert (X : A * (fst b - fst a) + B * (snd b - snd a) = 0) by lra.
  assert (Y : A * (fst c - fst a) + B * (snd c - snd a) = 0) by lra.
  set (ux := fst b - fst a) in *. set (uy := snd b - snd a) in *. set (vx := fst c - fst a) in *.
  set (vy := snd c - snd a) in *.
  assert (Z : (A * A + B * B) * (ux * vy - uy * vx) = 0).
  { transitivity ((A * ux + B * uy) * (A * vy - B * vx) - (A * vx + B * vy) * (A * uy - B * ux));
      [ring|rewrite X, Y; ring]. }
  apply Rmult_integral in Z. destruct Z; [contradiction|lra].
Qed.
Section NoCut.
Variables (V W : nat -> pt) (T : list tr) (d : doc).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation Ccw := (m_ccw V T d M). Notation F := (F V W T).
Lemma F_at : forall t p, In t T -> closed (geo V t) p -> F p = Ft V W t p.
Proof.
  intros t p Ht C. apply (F_on V W T Ccw (m_P1 V T d M) (m_P2 V T d M) (m_P3 V T d M) (m_ne V T d M) t p Ht C).
Qed.
Lemma ends_on : forall t t' i j l, inner T t t' i j -> (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) ->
  cut_by d F (on_line l) -> on_line l (W i) /\ on_line l (W j).
Proof.
  intros t t' i j l I Tg (_ & B). pose proof I as (Ht & _ & _ & D & Hi & Hj & _).
  assert (X : forall m, 0 < m < 1 -> on_line l (mid (W i) (W j) m)).
  { intros m Hm. pose proof (edge_inside V T d M t t' i j m I Hm) as In_. pose proof (proj2 (B _ In_) (Tg m Hm)) as H.
    rewrite (F_at t) in H; auto; [rewrite Ft_mid, !(Ft_corner V W T) in H by (auto; exact Ccw); exact H|].
    destruct (near_edge V T d M t i j m Ht Hi Hj D Hm) as (g & e & _ & He & _ & C & _).
    apply C; [unfold ball, dist; rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra|rewrite left_ends; lra]. }
  pose proof (X (1 / 3) ltac:(lra)) as A1. pose proof (X (2 / 3) ltac:(lra)) as A2. destruct l as [[A B'] C].
  unfold on_line, mid in *. cbn [fst snd] in *. split; lra.
Qed.
Theorem no_line_apart : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l ->
  (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> (forall m, 0 < m < 1 -> on_target d (mid (V k) (V l) m))
    ->
  left (W i) (W j) (W k) <> 0 -> ~ cut_exact d F.
Proof.
  intros t t' s s' i j k l I J Ti Tk N (ln & P & Cu). apply N. destruct (ends_on t t' i j ln I Ti Cu) as (A & B).
  destruct (ends_on s s' k l ln J Tk Cu) as (C & _).
  exact (on_line_left ln _ _ _ P A B C).
Qed.
(* a whole line, or a segment of it *)
Definition along (whole : bool) (a b p : pt) := if whole then left a b p = 0 else on_seg a b p.
Definition stray whole a b := exists p, inside d p /\ ~ on_target d p /\ along whole a b (F p).
Lemma on_line_of_left : forall ln a b p, proper ln -> a <> b -> on_line ln a -> on_line ln b -> left a b p = 0 ->
  on_line ln p.
Proof.
  intros [[A B] C] a b p _ N Ha Hb Hp. unfold on_line, left in *. set (x := fst b - fst a) in *.
  set (y := snd b - snd a) in *.
  assert (E : A * x + B * y = 0) by (unfold x, y; lra).
  assert (P : x * x + y * y <> 0).
  { intro Z. apply N. destruct (Rplus_sqr_eq_0 x y Z). unfold x, y in *. destruct a, b; simpl in *. f_equal; lra. }
  assert (Q : (x * x + y * y) * (A * (fst p - fst a) + B * (snd p - snd a)) = 0).
  { transitivity ((A * x + B * y) * (x * (fst p - fst a) + y * (snd p - snd a)) + (B * x - A * y) *
      (x * (snd p - snd a) - y * (fst p - fst a))); [ring|rewrite E, Hp; ring]. }
  apply Rmult_integral in Q. destruct Q; [contradiction|lra].
Qed.
Lemma inner_ne : forall t t' i j, inner T t t' i j -> W i <> W j.
Proof.
  intros t t' i j (Ht & _ & _ & D & Hi & Hj & _) E. pose proof (W_len V W T d M Fo t i j Ht Hi Hj D) as L.
  rewrite E in L. lra.
Qed.
Theorem no_line_stray : forall t t' i j, inner T t t' i j -> (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) ->
  stray true (W i) (W j) -> ~ cut_exact d F.
Proof.
  intros t t' i j I Tg (p & In_ & Np & Al) (ln & P & Cu). destruct (ends_on t t' i j ln I Tg Cu) as (A & B).
  apply Np, (proj2 Cu p In_).
  exact (on_line_of_left ln _ _ _ P (inner_ne t t' i j I) A B Al).
Qed.
(* ---- several snips ---- *)
Lemma image_of_edge : forall t t' i j m, inner T t t' i j -> 0 < m < 1 -> F (mid (V i) (V j) m) = mid (W i) (W j) m.
Proof.
  intros t t' i j m I Hm. pose proof I as (Ht & _ & _ & D & Hi & Hj & _).
  rewrite (F_at t); auto; [rewrite Ft_mid, !(Ft_corner V W T) by (auto; exact Ccw); reflexivity|].
  destruct (near_edge V T d M t i j m Ht Hi Hj D Hm) as (g & e & _ & He & _ & C & _).
  apply C; [unfold ball, dist; rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra|rewrite left_ends; lra].
Qed.
Lemma edge_cut : forall t t' i j S m, inner T t t' i j -> (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) ->
  cut_by d F S -> 0 < m < 1 -> S (mid (W i) (W j) m).
Proof.
  intros t t' i j S m I Tg (_ & B) Hm. rewrite <- (image_of_edge t t' i j m I Hm).
  apply (B _ (edge_inside V T d M t t' i j m I Hm)). now apply Tg.
Qed.
(* segments that cover a stretch: one of them has two points of it; and they cover its end *)
Definition shares (a b : pt) (s : pt * pt) := exists t u, 0 < t < 1 /\ 0 < u < 1 /\ t <> u /\
  on_seg (fst s) (snd s) (mid a b t) /\ on_seg (fst s) (snd s) (mid a b u).
Lemma shared : forall a b S lo hi, 0 <= lo -> lo < hi -> hi <= 1 -> (forall t, lo < t < hi -> on_snips S (mid a b t)) ->
  ~ ~ exists s, In s S /\ shares a b s.
Proof.
  intros a b S. induction S as [|s S IH]; intros lo hi L0 L1 L2 H N.
  - destruct (H ((lo + hi) / 2) ltac:(lra)) as (x & y & [] & _).
  - assert (Rest : forall l h, lo <= l -> l < h -> h <= hi -> (forall t, l < t < h ->
      ~ on_seg (fst s) (snd s) (mid a b t)) -> False).
    { intros l h A1 A2 A3 No. refine (IH l h ltac:(lra) A2 ltac:(lra) _ _).
      - intros t Ht.
        destruct (H t ltac:(lra)) as (x & y & [E|Is] & O); [exfalso; apply (No t Ht); subst s; exact O|exists x, y;
          auto].
      - intros (s' & Is & Sh). apply N. exists s'. split; [now right|exact Sh]. }
    apply (Rest lo hi); try lra. intros t Ht O. apply (Rest t hi); try lra. intros u Hu O'. apply N. exists s.
    split; [now left|]. exists t, u. repeat split; auto; lra.
Qed.
Lemma seg_signs : forall x y p, x <> y -> (on_seg x y p <-> left x y p = 0 /\ 0 <= Chain.dotp x y p /\
  0 <= Chain.dotp y x p).
Proof.
  intros x y p N. assert (P : 0 < Chain.dotp x y y).
  { unfold Chain.dotp. set (u := fst y - fst x). set (v := snd y - snd x).
    destruct (Rle_lt_or_eq_dec 0 (u * u + v * v)) as [L|L]; auto; [nra|]. exfalso. apply N. symmetry in L.
    destruct (Rplus_sqr_eq_0 u v L). unfold u, v in *. destruct x, y; simpl in *. f_equal; lra. }
  split.
  - intros (t & Ht & ->). fold (mid x y t). split; [apply left_ends|].
    assert (E1 : Chain.dotp x y (mid x y t) = t * Chain.dotp x y y) by (unfold Chain.dotp, mid; simpl; ring).
    assert (E2 : Chain.dotp y x (mid x y t) = (1 - t) * Chain.dotp x y y) by (unfold Chain.dotp, mid; simpl; ring).
    rewrite E1, E2. split; apply Rmult_le_pos; lra.
  - intros (L & A & B). destruct (on_line_mid x y p N L) as (t & ->). exists t. split; [|reflexivity].
    assert (E1 : Chain.dotp x y (mid x y t) = t * Chain.dotp x y y) by (unfold Chain.dotp, mid; simpl; ring).
    assert (E2 : Chain.dotp y x (mid x y t) = (1 - t) * Chain.dotp x y y) by (unfold Chain.dotp, mid; simpl; ring).
    rewrite E1 in A. rewrite E2 in B. split; nra.
Qed.
Lemma end_covered : forall a b S hi, 0 < hi -> (forall x y, In (x, y) S -> x <> y) ->
  (forall t, 0 < t < hi -> on_snips S (mid a b t)) -> ~ ~ on_snips S a.
Proof.
  intros a b S. induction S as [|[x y] S IH]; intros hi Hh Ne H N.
  - destruct (H (hi / 2) ltac:(lra)) as (x & y & [] & _).
  - assert (Nxy : x <> y) by (apply Ne; now left).
    assert (B : forall e, 0 < e -> ~ ~ exists t, 0 < t < e /\ on_seg x y (mid a b t)).
    { intros e He No. refine (IH (Rmin e hi) ltac:(now apply Rmin_glb_lt) (fun u v I => Ne u v (or_intror I)) _ _).
      - intros t Ht. assert (t < hi) by (eapply Rlt_le_trans; [apply Ht|apply Rmin_r]).
        destruct (H t ltac:(lra)) as (u & v & [E|Is] & O); [|exists u, v; auto].
        exfalso. apply No. exists t. injection E as <- <-.
        split; [split; [lra|eapply Rlt_le_trans; [apply Ht|apply Rmin_l]]|exact O].
      - intros (u & v & Is & O). apply N. exists u, v. split; [now right|exact O]. }
    apply N. exists x, y. split; [now left|]. apply seg_signs; auto.
    assert (Dm : forall c e u, Chain.dotp c e (mid a b u) = (1 - u) * Chain.dotp c e a + u * Chain.dotp c e b) by
      (intros; unfold Chain.dotp, mid; simpl; ring).
    assert (Lim : forall f : pt -> R, (forall u, f (mid a b u) = (1 - u) * f a + u * f b) ->
      (forall p, on_seg x y p -> 0 <= f p) -> 0 <= f a).
    { intros f Af Pos. apply Rnot_lt_le. intro Neg.
      assert (K : 0 < Rabs (f b) + 1 - f a) by (pose proof (Rabs_pos (f b)); lra).
      set (e := - f a / (Rabs (f b) + 1 - f a)).
      assert (He : 0 < e) by (apply Rdiv_lt_0_compat; lra). apply (B e He). intros (t & Ht & O). specialize (Pos _ O).
      rewrite Af in Pos.
      assert (T1 : t * (Rabs (f b) + 1 - f a) < - f a).
      { replace (- f a) with (e * (Rabs (f b) + 1 - f a)) by (unfold e; field; lra). apply Rmult_lt_compat_r; lra. }
      pose proof (Rle_abs (f b)). assert (t * f b <= t * Rabs (f b)) by (apply Rmult_le_compat_l; lra). nra. }
    assert (L1 : 0 <= left x y a) by (apply (Lim (left x y)); [intro; apply left_mid|intros p O;
      apply (seg_signs x y p Nxy) in O; lra]).
    assert (L2 : 0 <= - left x y a) by (apply (Lim (fun p => - left x y p));
      [intro; rewrite left_mid; ring|intros p O; apply (seg_signs x y p Nxy) in O; lra]).
    split; [lra|].
    split; [apply (Lim (Chain.dotp x y)); [intro; apply Dm|]|apply (Lim (Chain.dotp y x)); [intro; apply Dm|]];
      intros p O; apply (seg_signs x y p Nxy) in O; tauto.
Qed.
Theorem no_snips_stray : forall k t t' i j, inner T t t' i j -> (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m))
  -> stray false (W i) (W j) -> ~ cut_exact_k d F k.
Proof.
  intros k t t' i j I Tg (p & In_ & Np & (m & Hm & Ep)) (S & _ & Ne & Cu). fold (mid (W i) (W j) m) in Ep.
  assert (Op : forall u, 0 < u < 1 -> on_snips S (mid (W i) (W j) u)) by (intros u Hu;
    apply (edge_cut t t' i j (on_snips S) u I Tg Cu Hu)).
  assert (No : ~ on_snips S (F p)) by (intro O; apply Np; now apply (proj2 Cu p In_)). rewrite Ep in No.
  destruct (Req_dec m 0) as [-> |N0]; [|destruct (Req_dec m 1) as [-> |N1]; [|apply No, Op; lra]].
  - rewrite Chain.mid_0 in No. exact (end_covered (W i) (W j) S 1 ltac:(lra) Ne Op No).
  - rewrite Chain.mid_1 in No. refine (end_covered (W j) (W i) S 1 ltac:(lra) Ne _ No). intros u Hu. rewrite Cmid_sym.
    apply Op. lra.
Qed.
(* two target edges that cannot lie on one snip: not on one line, or with paper that is not target in the gap between
   their nearest ends, u and v *)
Definition unfit (e f : nat * nat) := left (W (fst e)) (W (snd e)) (W (fst f)) <> 0 \/
  left (W (fst e)) (W (snd e)) (W (snd f)) <> 0 \/
  exists i u v l, (e = (i, u) \/ e = (u, i)) /\ (f = (v, l) \/ f = (l, v)) /\ left (W i) (W u) (W v) = 0 /\
    left (W i) (W u) (W l) = 0 /\
    Chain.dotp (W u) (W i) (W v) <= 0 /\ Chain.dotp (W v) (W l) (W u) <= 0 /\ Chain.dotp (W u) (W i) (W l) <= 0 /\
      stray false (W u) (W v).
Lemma shares_line : forall a b x y, a <> b -> x <> y -> shares a b (x, y) -> left x y a = 0 /\ left x y b = 0.
Proof.
  intros a b x y N N' (t & u & Ht & Hu & D & A & B). apply (seg_signs x y _ N') in A, B.
  destruct A as (A & _), B as (B & _). rewrite left_mid in A, B.
  set (p := left x y a) in *. set (q := left x y b) in *. assert (E : (u - t) * (q - p) = 0) by lra.
  apply Rmult_integral in E. destruct E as [E|E]; [lra|]. assert (q = p) by lra. nra.
Qed.
Lemma shares_swap : forall a b s, shares a b s -> shares b a s.
Proof.
  intros a b s (t & u & Ht & Hu & D & A & B). exists (1 - t), (1 - u). rewrite Cmid_sym, (Cmid_sym b a (1 - u)).
  replace (1 - (1 - t)) with t by ring. replace (1 - (1 - u)) with u by ring. repeat split; auto; lra.
Qed.
Lemma gap_covered : forall i u v l x y z, i <> u -> left i u v = 0 -> left i u l = 0 -> Chain.dotp u i v <= 0 ->
  Chain.dotp v l u <= 0 -> Chain.dotp u i l <= 0 ->
  shares i u (x, y) -> shares v l (x, y) -> on_seg u v z -> on_seg x y z.
Proof.
  intros i u v l x y z N Lv Ll D1 D2 D3 (t & _ & Ht & _ & _ & A & _) (r & _ & Hr & _ & _ & B & _) (m & Hm & Ez).
  cbn [fst snd] in A, B. fold (mid u v m) in Ez.
  destruct (on_line_mid i u v N Lv) as (tv & Ev), (on_line_mid i u l N Ll) as (tl & El).
  assert (P : 0 < Chain.dotp i u u).
  { unfold Chain.dotp. set (dx := fst u - fst i). set (dy := snd u - snd i).
    destruct (Rle_lt_or_eq_dec 0 (dx * dx + dy * dy)) as [L|L]; auto; [nra|]. exfalso. apply N. symmetry in L.
    destruct (Rplus_sqr_eq_0 dx dy L). unfold dx, dy in *. destruct i, u; simpl in *. f_equal; lra. }
  set (n := Chain.dotp i u u) in *.
  assert (E1 : Chain.dotp u i v = - ((tv - 1) * n)) by (rewrite Ev; unfold n, Chain.dotp, mid; simpl; ring).
  assert (E2 : Chain.dotp v l u = (tl - tv) * (1 - tv) * n) by (rewrite Ev, El; unfold n, Chain.dotp, mid; simpl; ring).
  assert (E3 : Chain.dotp u i l = - ((tl - 1) * n)) by (rewrite El; unfold n, Chain.dotp, mid; simpl; ring).
  rewrite E1 in D1. rewrite E2 in D2. rewrite E3 in D3.
  assert (T1 : 1 <= tv) by nra. assert (T3 : 1 <= tl) by nra. assert (T2 : tv <= tl).
  { destruct (Req_dec tv 1) as [Q|Q]; [lra|]. apply Rnot_lt_le. intro L.
    assert (0 < (tv - tl) * (tv - 1)) by (apply Rmult_lt_0_compat; lra). nra. }
  set (tz := 1 + m * (tv - 1)). set (tp := tv + r * (tl - tv)).
  assert (Ez' : z = mid i u tz) by (rewrite Ez, Ev; unfold tz, mid; simpl; f_equal; ring).
  assert (Ep : mid v l r = mid i u tp) by (rewrite Ev, El; unfold tp, mid; simpl; f_equal; ring).
  rewrite Ep in B. assert (Z1 : 1 <= tz) by (unfold tz; nra). assert (Z2 : tz <= tv) by (unfold tz; nra).
  assert (Z3 : tv <= tp) by (unfold tp; nra).
  apply (Chain.seg_sub x y (mid i u t) (mid i u tp)); auto. exists ((tz - t) / (tp - t)). split.
  - split; [apply Rmult_le_pos; [lra|left; apply Rinv_0_lt_compat; lra]|]. apply Rmult_le_reg_r with (tp - t); [lra|].
    unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
  - rewrite Ez'. unfold mid; cbn [fst snd]. f_equal; field; lra.
Qed.
Lemma unfit_apart : forall S e f x y, cut_by d F (on_snips S) -> In (x, y) S -> x <> y -> W (fst e) <> W (snd e) ->
  W (fst f) <> W (snd f) -> unfit e f ->
  shares (W (fst e)) (W (snd e)) (x, y) -> shares (W (fst f)) (W (snd f)) (x, y) -> False.
Proof.
  intros S e f x y Cu Is Nxy Ne Nf U A B.
  destruct (shares_line _ _ _ _ Ne Nxy A) as (A1 & A2), (shares_line _ _ _ _ Nf Nxy B) as (B1 & B2).
  destruct U as [U|[U|(i & u & v & l & Ee & Ef & L1 & L2 & D1 & D2 & D3 & (p & In_ & Np & O))]];
   [apply U; exact (LayerCheck.three_on_line x y _ _ _ Nxy A1 A2 B1)|apply U;
     exact (LayerCheck.three_on_line x y _ _ _ Nxy A1 A2 B2)|].
  apply Np, (proj2 Cu p In_). exists x, y. split; [exact Is|].
  assert (Hi : W i <> W u /\ shares (W i) (W u) (x, y)) by (destruct Ee as [-> | ->]; cbn [fst snd] in *;
    [auto|split; [congruence|now apply shares_swap]]).
  assert (Hv : shares (W v) (W l) (x, y)) by (destruct Ef as [-> | ->]; cbn [fst snd] in *;
    [auto|now apply shares_swap]).
  destruct Hi as (Ni & Hi).
  exact (gap_covered _ _ _ _ _ _ _ Ni L1 L2 D1 D2 D3 Hi Hv O).
Qed.
Theorem no_snips_apart : forall k es, length es = S k -> (forall e, In e es ->
  exists t t', inner T t t' (fst e) (snd e)) -> (forall e m, In e es -> 0 < m < 1 ->
  on_target d (mid (V (fst e)) (V (snd e)) m)) ->
  ForallOrdPairs unfit es -> ~ cut_exact_k d F k.
Proof.
  intros k es Len Inn Tg Un (S & Le & Ne & Cu).
  assert (Ch : ~ ~ exists ss, Forall2 (fun e s => In s S /\ shares (W (fst e)) (W (snd e)) s) es ss).
  { clear Un Len. induction es as [|e es IH]; intro N; [apply N; exists []; constructor|].
    apply IH; [intros; apply Inn; now right|intros; apply Tg; auto; now right|]. intros (ss & Hs).
    destruct (Inn e (or_introl eq_refl)) as (t & t' & I).
    apply (shared (W (fst e)) (W (snd e)) S 0 1 ltac:(lra) ltac:(lra) ltac:(lra)).
    - intros m Hm. apply (edge_cut t t' _ _ (on_snips S) m I); auto. intros u Hu. apply Tg; auto. now left.
    - intros (s & Is & Sh). apply N. exists (s :: ss). now constructor. }
  apply Ch. intros (ss & Hs). assert (ND : NoDup ss).
  { clear Len Ch. revert ss Hs.
    induction Un as [|e es HF HP IH]; intros ss Hs; inversion Hs as [|? s ? ss' (Is & Sh) Hs']; subst; constructor.
    - intro J. assert (X : exists f, In f es /\ shares (W (fst f)) (W (snd f)) s).
      { clear - Hs' J. induction Hs' as [|f s' es ss (_ & Sh) _ IH]; [destruct J|].
        destruct J as [<-|J]; [exists f; split; [now left|exact Sh]|]. destruct (IH J) as (g & Ig & Sg). exists g.
        split; [now right|exact Sg]. }
      destruct X as (f & If & Sf). rewrite Forall_forall in HF. destruct s as [x y].
      destruct (Inn e (or_introl eq_refl)) as (t & t' & Ie). destruct (Inn f (or_intror If)) as (u & u' & If').
      exact (unfit_apart S e f x y Cu Is (Ne x y Is) (inner_ne _ _ _ _ Ie) (inner_ne _ _ _ _ If') (HF f If) Sh Sf).
    - apply IH; auto; [intros; apply Inn; now right|intros; apply Tg; auto; now right]. }
  assert (In_ : incl ss S).
  { clear - Hs. induction Hs as [|e s es ss (Is & _) _ IH]; intros x Hx; [destruct Hx|]. destruct Hx as [<-|Hx]; auto. }
  pose proof (NoDup_incl_length ND In_) as L.
  assert (L2 : length es = length ss) by (clear - Hs; induction Hs; simpl; congruence). lia.
Qed.
(* ---- paper that is not target on a line or a segment: a face, an edge, a vertex ---- *)
Lemma onto : forall u y, In u T -> exists x, Ft V W u x = y.
Proof.
  intros u [y1 y2] Hu. destruct (Ft_rigid V W T Ccw (f_congr V W T d Fo) u Hu) as (c & s & tx & ty & N & H).
  assert (G : sg u * sg u = 1) by (destruct (sg_cases u) as [-> | ->]; ring).
  exists (c * (y1 - tx) + s * (y2 - ty), sg u * (c * (y2 - ty) - s * (y1 - tx))). rewrite H; cbn [fst snd]. f_equal.
  - transitivity (tx + c * c * (y1 - tx) + c * s * (y2 - ty) - (sg u * sg u) * s * (c * (y2 - ty) - s * (y1 - tx)));
      [ring|].
    rewrite G. transitivity (tx + (c * c + s * s) * (y1 - tx)); [ring|rewrite N; ring].
  - transitivity (ty + s * c * (y1 - tx) + s * s * (y2 - ty) + (sg u * sg u) * c * (c * (y2 - ty) - s * (y1 - tx)));
      [ring|].
    rewrite G. transitivity (ty + (c * c + s * s) * (y2 - ty)); [ring|rewrite N; ring].
Qed.
Lemma onto_open : forall u y, In u T -> 0 < sg u * left (W (ci u)) (W (cj u)) y ->
  0 < sg u * left (W (cj u)) (W (ck u)) y -> 0 < sg u * left (W (ck u)) (W (ci u)) y ->
  exists x, open (geo V u) x /\ Ft V W u x = y.
Proof.
  intros u y Hu A B C. destruct (onto u y Hu) as (x & <-). exists x. split; [|reflexivity].
  rewrite !(side V W T Ccw (f_congr V W T d Fo) u) in A, B, C by (unfold corner; auto).
  assert (G : sg u * sg u = 1) by (destruct (sg_cases u) as [-> | ->]; ring).
  rewrite <- !Rmult_assoc, G, Rmult_1_l in A, B, C. unfold open, geo. auto.
Qed.
Lemma stray_face : forall whole a b u y, In u T -> (forall p, open (geo V u) p -> ~ on_target d p) ->
  0 < sg u * left (W (ci u)) (W (cj u)) y -> 0 < sg u * left (W (cj u)) (W (ck u)) y ->
  0 < sg u * left (W (ck u)) (W (ci u)) y ->
  along whole a b y -> stray whole a b.
Proof.
  intros whole a b u y Hu Off A B C Al. destruct (onto_open u y Hu A B C) as (x & O & Ex). exists x.
  split; [exact (open_in V T d M u x Hu O)|split; [now apply Off|]].
  rewrite (F_at u x Hu); [rewrite Ex; exact Al|]. destruct O as (O1 & O2 & O3). unfold closed, geo. lra.
Qed.
Lemma stray_edge : forall whole a b u u' k l m, inner T u u' k l -> 0 < m < 1 -> ~ on_target d (mid (V k) (V l) m) ->
  along whole a b (mid (W k) (W l) m) -> stray whole a b.
Proof.
  intros whole a b u u' k l m I Hm Nt Al. exists (mid (V k) (V l) m).
  split; [exact (edge_inside V T d M u u' k l m I Hm)|split; [exact Nt|]]. now rewrite (image_of_edge u u' k l m I Hm).
Qed.
Lemma stray_vertex : forall whole a b u v, In u T -> corner u v -> inside d (V v) -> ~ on_target d (V v) ->
  along whole a b (W v) -> stray whole a b.
Proof.
  intros whole a b u v Hu Hv In_ Nt Al. exists (V v). split; [exact In_|split; [exact Nt|]].
  rewrite (F_at u (V v) Hu), (Ft_corner V W T) by (auto; try exact Ccw; exact (Drawn.corner_closed V T d M u v Hu Hv)).
  exact Al.
Qed.
End NoCut.
(* what a document with k snips asks of a fold map *)
Definition is_cut (d : doc) (F : pt -> pt) (k : nat) := (k = 1%nat -> cut_exact d F) /\
  ((1 < k)%nat -> cut_exact_k d F k).
Lemma rig_mid : forall g c s tx ty a b t, rig g c s tx ty (mid a b t) = mid (rig g c s tx ty a) (rig g c s tx ty b) t.
Proof. intros. unfold rig, mid; cbn [fst snd]. f_equal; ring. Qed.
Lemma rig_onto : forall g c s tx ty, (g = 1 \/ g = -1) -> c * c + s * s = 1 ->
  forall y, exists x, rig g c s tx ty x = y.
Proof.
  intros g c s tx ty Hg N [y1 y2]. assert (G : g * g = 1) by (destruct Hg as [-> | ->]; ring).
  exists (c * (y1 - tx) + s * (y2 - ty), g * (c * (y2 - ty) - s * (y1 - tx))). unfold rig; cbn [fst snd]. f_equal.
  - transitivity (tx + c * c * (y1 - tx) + c * s * (y2 - ty) - (g * g) * s * (c * (y2 - ty) - s * (y1 - tx))); [ring|].
    rewrite G. transitivity (tx + (c * c + s * s) * (y1 - tx)); [ring|rewrite N; ring].
  - transitivity (ty + s * c * (y1 - tx) + s * s * (y2 - ty) + (g * g) * c * (c * (y2 - ty) - s * (y1 - tx))); [ring|].
    rewrite G. transitivity (ty + (c * c + s * s) * (y2 - ty)); [ring|rewrite N; ring].
Qed.
Lemma cut_back : forall d F G k, unique_fold d F -> fold_map d G -> is_cut d G k -> is_cut d F k.
Proof.
  intros d F G k U FG (One & More). destruct (U G FG) as (g & c & s & tx & ty & Hs & N & E). split; intro Hk.
  - destruct (One Hk) as (l & P & A & B). destruct (line_back l g c s tx ty Hs N P) as (l' & P' & L). exists l'.
    split; auto. split; auto. intros p Hp.
    rewrite <- (B p Hp), (E p (Cut.inside_sheet d p Hp)). apply L.
  - destruct (More Hk) as (S & Le & Ne & A & B). clear One More.
    assert (Bk : exists S', length S' = length S /\ (forall a b, In (a, b) S' -> a <> b) /\ forall p, on_snips S' p <->
      on_snips S (rig g c s tx ty p)).
    { clear Le A B.
      induction S as [|[x y] S IH]; [exists []; split; [reflexivity|split; [intros a b []|]]; intro p; split;
        intros (a & b & [] & _)|].
      destruct IH as (S' & Len & Ne' & Eq); [intros; apply Ne; now right|].
      destruct (rig_onto g c s tx ty Hs N x) as (x' & Ex), (rig_onto g c s tx ty Hs N y) as (y' & Ey).
      exists ((x', y') :: S'). split; [simpl; now rewrite Len|split].
      - intros a b [Q|I]; [injection Q as <- <-; intro Q; apply (Ne x y (or_introl eq_refl));
          now rewrite <- Ex, <- Ey, Q|now apply Ne'].
      - assert (Sg : forall p, on_seg x' y' p <-> on_seg x y (rig g c s tx ty p)).
        { intro p.
          split; intros (t & Ht & Ep); exists t; (split; [exact Ht|]); fold (mid x' y' t) in *; fold (mid x y t) in *;
            [rewrite Ep, rig_mid, Ex, Ey; reflexivity|].
          rewrite <- Ex, <- Ey, <- rig_mid in Ep. exact (rig_inj g c s tx ty _ _ Hs N Ep). }
        intro p. split; intros (a & b & [Q|I] & O).
        + injection Q as <- <-. exists x, y. split; [now left|now apply Sg].
        + destruct (proj1 (Eq p)) as (a' & b' & I' & O'); [exists a, b; auto|]. exists a', b'.
          split; [now right|exact O'].
        + injection Q as <- <-. exists x', y'. split; [now left|now apply Sg].
        + destruct (proj2 (Eq p)) as (a' & b' & I' & O'); [exists a, b; auto|]. exists a', b'.
          split; [now right|exact O']. }
    destruct Bk as (S' & Len & Ne' & Eq). exists S'. split; [now rewrite Len|split; [exact Ne'|split; [exact A|]]].
    intros p Hp. rewrite Eq, <- (B p Hp), (E p (Cut.inside_sheet d p Hp)). reflexivity.
Qed.
(* where the fold map is unique, a cut that fails with one fails with all *)
Theorem no_cut_for_all : forall d F k, unique_fold d F -> ~ is_cut d F k ->
  ~ exists G above, fold_map d G /\ layer_order d G above /\ is_cut d G k.
Proof. intros d F k U N (G & above & FG & _ & C). exact (N (cut_back d F G k U FG C)). Qed.
