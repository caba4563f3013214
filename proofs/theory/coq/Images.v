(* The images of triangles, what a layer order of points says of two of them, and of one that an edge runs through. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Cross Cover Paste Layers FoldMap Edge Cut Top Unique Closure Inside Drawn FoldCheck NoCut
  Generic.
Require Chain.
Import ListNotations.
Open Scope R_scope.
Lemma iff_dec : forall A B : Prop, A \/ ~ A -> B \/ ~ B -> (A <-> B) \/ ~ (A <-> B).
Proof. intros A B [a|a] [b|b]; tauto. Qed.
Lemma stable : forall A : Prop, A \/ ~ A -> ~ ~ A -> A. Proof. intros A [a|a] H; [exact a|contradiction]. Qed.
Section Images.
Variables (V W : nat -> pt) (T : list tr) (d : doc) (above : pt -> pt -> Prop) (N : list line) (Z : list pt).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation Ccw := (m_ccw V T d M). Notation Cg := (f_congr V W T d Fo). Notation F := (F V W T). Notation Ft := (Ft V W).
Hypothesis LO : layer_order_with d F above N Z.
Lemma sg_sq : forall t, sg t * sg t = 1. Proof. intro t. destruct (sg_cases t) as [-> | ->]; ring. Qed.
(* the point of a fold line is on an edge; of which, if it is on an open edge *)
Lemma fold_edge : forall p, on_fold d p -> exists t i j m a b, In t T /\ corner t i /\ corner t j /\ i <> j /\
  0 <= m <= 1 /\ p = mid (V i) (V j) m /\ (forall t', inner T t t' i j -> sg t' = - sg t) /\ on_seg a b p.
Proof.
  intros p (a & b & k & Hc & Hk & Hs).
  destruct (f_crease V W T d Fo a b k p Hc Hk Hs) as (t & i & j & m & Ht & Hi & Hj & D & Hm & E & _ & _ & _ & S).
  exists t, i, j, m, a, b. auto 12.
Qed.
Lemma off_folds : forall t p, In t T -> open (geo V t) p -> ~ on_fold d p.
Proof.
  intros t p Ht O Hf. destruct (fold_edge p Hf) as (u & i & j & m & _ & _ & Hu & Hi & Hj & D & Hm & Ep & _).
  apply (off_drawn V T d [(i, j)] (eq p) M) with (t := t) (p := p); auto. intros x <-. exists i, j, u, m.
  repeat (split; [first [assumption|now left|now apply (V_ne V T Ccw u)]|]). exact Ep.
Qed.
Lemma same_edge : forall t i j l u x y m, In t T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 -> In u T ->
  corner u x -> corner u y -> x <> y -> 0 <= m <= 1 -> mid (V i) (V j) l = mid (V x) (V y) m ->
  (i = x /\ j = y) \/ (i = y /\ j = x).
Proof.
  intros t i j l u x y m Ht Hi Hj D Hl Hu Ux Uy Nxy Hm E.
  pose proof (along_drawn V T d [(x, y)] (eq (mid (V i) (V j) l)) M) as A.
  specialize (A ltac:(intros z <-; exists x, y, u, m; repeat (split; [first
    [assumption|now left|now apply (V_ne V T Ccw u)]|]); exact E) t i j l Ht Hi Hj D Hl eq_refl).
  apply edge_in_ok in A. destruct A as [[A|[]]|[A|[]]]; injection A as -> ->; auto.
Qed.
Lemma swap_inner : forall t t' i j, inner T t t' i j -> inner T t' t i j.
Proof. intros t t' i j (A1 & A2 & A3 & A4 & A5 & A6 & A7 & A8). unfold inner. auto 12. Qed.
Lemma turn_inner : forall t t' i j, inner T t t' i j -> inner T t t' j i.
Proof. intros t t' i j (A1 & A2 & A3 & A4 & A5 & A6 & A7 & A8). unfold inner. auto 12. Qed.
Lemma flat_off : forall t t' i j l, inner T t t' i j -> tu t = tu t' -> 0 < l < 1 -> ~ on_fold d (mid (V i) (V j) l).
Proof.
  intros t t' i j l I E Hl Hf. pose proof I as (Ht & Ht' & D & Nij & Hi & Hj & Hi' & Hj').
  destruct (fold_edge _ Hf) as (u & x & y & m & _ & _ & Hu & Ux & Uy & Nxy & Hm & Ep & S & _).
  assert (Sg : sg t = sg t') by (unfold sg; now rewrite E). pose proof (sg_cases t) as Sc.
  assert (Hyp : inner T t t' x y) by (destruct (same_edge t i j l u x y m) as [[<- <-]|[<- <-]]; auto;
    now apply turn_inner).
  destruct (m_two V T d M t t' u x y Hyp Hu Ux Uy) as [-> | ->].
  - specialize (S t' Hyp). destruct Sc; lra. - specialize (S t (swap_inner _ _ _ _ Hyp)). destruct Sc; lra.
Qed.
Lemma turned_fold : forall t t' i j l, inner T t t' i j -> tu t <> tu t' -> 0 < l < 1 ->
  ~ ~ on_fold d (mid (V i) (V j) l).
Proof. intros t t' i j l I E Hl H. exact (E (f_flat V W T d Fo t t' i j l I Hl H)). Qed.
(* ---- images ---- *)
Definition image t p := exists x, open (geo V t) x /\ Ft t x = p.
Lemma inv_lip : forall t x u, In t T -> dist u x <= 2 * dist (Ft t u) (Ft t x).
Proof.
  intros t x u Ht. destruct (Ft_rigid V W T Ccw Cg t Ht) as (c & s & tx & ty & E & H). pose proof (sg_sq t) as G.
  rewrite !H. unfold dist; cbn [fst snd].
  set (p := fst u - fst x). set (r := snd u - snd x).
  set (a := tx + c * fst u - sg t * s * snd u - (tx + c * fst x - sg t * s * snd x)).
  set (b := ty + s * fst u + sg t * c * snd u - (ty + s * fst x + sg t * c * snd x)).
  assert (Ep : p = c * a + s * b).
  { unfold a, b. transitivity ((c * c + s * s) * p); [rewrite E; ring|unfold p; ring]. }
  assert (Er : r = sg t * (c * b - s * a)).
  { unfold a, b. transitivity ((sg t * sg t) * (c * c + s * s) * r); [rewrite E, G; ring|unfold r; ring]. }
  set (m := Rmax (Rabs a) (Rabs b)). assert (Ma : Rabs a <= m) by apply Rmax_l.
  assert (Mb : Rabs b <= m) by apply Rmax_r.
  assert (Bd : forall k, k * k <= 1 -> Rabs k <= 1) by (intros k Hk; apply Rabs_le; nra).
  assert (Hc : Rabs c <= 1) by (apply Bd; nra). assert (Hs : Rabs s <= 1) by (apply Bd; nra).
  assert (Hg : Rabs (sg t) = 1) by (destruct (sg_cases t) as [-> | ->]; unfold Rabs; destruct Rcase_abs; lra).
  pose proof (Rabs_pos a). pose proof (Rabs_pos b). pose proof (Rabs_pos c). pose proof (Rabs_pos s).
  apply Rmax_lub; [rewrite Ep|rewrite Er, Rabs_mult, Hg, Rmult_1_l; unfold Rminus];
    (eapply Rle_trans; [apply Rabs_triang|]); rewrite ?Rabs_Ropp, !Rabs_mult; nra.
Qed.
Lemma image_open : forall t p, In t T -> image t p -> exists e, 0 < e /\ forall r, ball p e r -> image t r.
Proof.
  intros t p Ht (x & O & <-). destruct (Layers.open_nbhd V t x O) as (e & He & H). exists (e / 2). split; [lra|].
  intros r Hr. destruct (onto V W T d M Fo t r Ht) as (y & Ey). exists y. split; [|exact Ey]. apply H.
  unfold ball in *. pose proof (inv_lip t y x Ht) as L. rewrite Ey in L. lra.
Qed.
Lemma image_convex : forall t a b m, image t a -> image t b -> 0 <= m <= 1 -> image t (mid a b m).
Proof.
  intros t a b m (x & (X1 & X2 & X3) & <-) (y & (Y1 & Y2 & Y3) & <-) Hm. exists (mid x y m). split; [|apply Ft_mid].
  unfold open, geo. rewrite !left_mid. repeat split; nra.
Qed.
Definition ontop t s p := exists x y, open (geo V t) x /\ open (geo V s) y /\ Ft t x = p /\ Ft s y = p /\ above x y.
Lemma ontop_iff : forall t s x y p, In t T -> In s T -> open (geo V t) x -> open (geo V s) y -> Ft t x = p ->
  Ft s y = p -> (ontop t s p <-> above x y).
Proof.
  intros t s x y p Ht Hs Ox Oy Ex Ey. split; [|intro A; exists x, y; auto]. intros (x' & y' & _ & _ & Ex' & Ey' & A).
  rewrite (Ft_inj V W T Ccw Cg t x x' Ht), (Ft_inj V W T Ccw Cg s y y' Hs); congruence.
Qed.
Lemma open_cl : forall t x, open (geo V t) x -> closed (geo V t) x.
Proof. intros t x (A & B & C). unfold closed, geo. lra. Qed.
Lemma F_open : forall t x, In t T -> open (geo V t) x -> F x = Ft t x.
Proof. intros t x Ht O. apply (F_at V W T d M); auto. now apply open_cl. Qed.
Lemma meets : forall t s x y, In t T -> In s T -> t <> s -> open (geo V t) x -> open (geo V s) y -> Ft t x = Ft s y ->
  meet d F x y.
Proof.
  intros t s x y Ht Hs D Ox Oy E. repeat split.
  - exact (Cut.inside_sheet d x (open_in V T d M t x Ht Ox)).
  - exact (Cut.inside_sheet d y (open_in V T d M s y Hs Oy)).
  - intros ->. apply D. exact (m_P1 V T d M t s y Ht Hs Ox (open_cl s y Oy)). - now rewrite (F_open t), (F_open s).
Qed.
Lemma plain_open : forall t x, In t T -> open (geo V t) x -> plain d x.
Proof. intros t x Ht O. split; [exact (open_in V T d M t x Ht O)|exact (off_folds t x Ht O)]. Qed.
Lemma ontop_total : forall t s p, In t T -> In s T -> t <> s -> image t p -> image s p -> off N p ->
  (ontop t s p \/ ontop s t p) /\ ~ (ontop t s p /\ ontop s t p).
Proof.
  intros t s p Ht Hs D (x & Ox & Ex) (y & Oy & Ey) Fp. rewrite (ontop_iff t s x y p), (ontop_iff s t y x p) by auto.
  apply (lo_A d F above N Z LO); [apply (meets t s); congruence|]. now rewrite (F_open t x Ht Ox), Ex.
Qed.
Lemma ontop_local : forall t s p, In t T -> In s T -> t <> s -> image t p -> image s p -> ~ In p Z -> exists e, 0 < e /\
  forall q r, ball p e q -> ball p e r -> image t q /\ image s q -> image t r /\ image s r -> off N q -> off N r ->
    (ontop t s q <-> ontop t s r).
Proof.
  intros t s p Ht Hs D (u & Ou & Eu) (v & Ov & Ev) NZ.
  destruct (lo_C d F above N Z LO u v) as (e & He & C); [apply (meets t s);
    congruence|now apply (plain_open t)|now apply (plain_open s)|now rewrite (F_open t u Ht Ou), Eu|].
  exists (e / 2). split; [lra|].
  intros q r Bq Br ((x & Ox & Ex) & (y & Oy & Ey)) ((x' & Ox' & Ex') & (y' & Oy' & Ey')) Fq Fr.
  rewrite (ontop_iff t s x y q), (ontop_iff t s x' y' r) by auto.
  unfold ball in *. apply C; try (apply (meets t s); congruence); unfold ball.
  - pose proof (inv_lip t x u Ht) as L. rewrite Ex, Eu in L. lra.
  - pose proof (inv_lip s y v Hs) as L. rewrite Ey, Ev in L. lra.
  - now rewrite (F_open t x Ht Ox), Ex.
  - pose proof (inv_lip t x' u Ht) as L. rewrite Ex', Eu in L. lra.
  - pose proof (inv_lip s y' v Hs) as L. rewrite Ey', Ev in L. lra.
  - now rewrite (F_open t x' Ht Ox'), Ex'.
Qed.
(* two triangles keep their order all over the common part of their images *)
Theorem order_constant : forall t s p p', In t T -> In s T -> t <> s -> image t p -> image s p -> image t p' ->
  image s p' -> off N p -> off N p' -> ~ In p Z -> ~ In p' Z -> (ontop t s p <-> ontop t s p').
Proof.
  intros t s p p' Ht Hs D A B A' B' Fp Fp' Np Np'.
  apply (constant_on (fun q => image t q /\ image s q) (ontop t s) N Z); auto.
  - intros q (X & Y). destruct (image_open t q Ht X) as (e & He & H), (image_open s q Hs Y) as (e' & He' & H').
    exists (Rmin e e'). split; [now apply Rmin_glb_lt|]. unfold ball in *.
    intros r Hr.
    split; [apply H; eapply Rlt_le_trans; [exact Hr|apply Rmin_l]|apply H'; eapply Rlt_le_trans;
      [exact Hr|apply Rmin_r]].
  - intros a b m (X & Y) (X' & Y') Hm. split; now apply image_convex. - exact (lo_N d F above N Z LO).
  - intros q (X & Y) Fq. destruct (ontop_total t s q Ht Hs D X Y Fq). tauto.
  - intros q (X & Y) NZ. now apply ontop_local.
Qed.
Definition good p := off N p /\ ~ In p Z.
Lemma good_near : forall p e, 0 < e -> exists q, ball p e q /\ good q.
Proof.
  intros p e He. destruct (generic (N ++ uprights Z)) with (p := p) (e := e) as (q & x & Hx & H); auto.
  { intros l I. apply in_app_or in I.
    destruct I as [I|I]; [exact (lo_N d F above N Z LO l I)|exact (uprights_proper Z l I)]. }
  destruct (H q (ball_self q x Hx)) as (B & O). apply off_app in O. destruct O as [A C]. exists q.
  split; [exact B|split; [exact A|now apply uprights_off]].
Qed.
Definition gt t s := t <> s /\ exists p, ontop t s p /\ good p.
Lemma gt_iff : forall t s p, In t T -> In s T -> t <> s -> image t p -> image s p -> good p -> (gt t s <-> ontop t s p).
Proof.
  intros t s p Ht Hs D A B (Fp & Np). split; [|intro H; split; [exact D|exists p; split; [exact H|split; assumption]]].
  intros (_ & q & H & Fq & Nq).
  apply (order_constant t s q p); auto; destruct H as (x & y & Ox & Oy & Ex & Ey & _); [exists x|exists y]; auto.
Qed.
Lemma over_good : forall t s, In t T -> In s T -> over V W t s -> exists p, image t p /\ image s p /\ good p.
Proof.
  intros t s Ht Hs (x & y & Ox & Oy & E). destruct (image_open t (Ft t x) Ht) as (e & He & H); [exists x; auto|].
  destruct (image_open s (Ft t x) Hs) as (e' & He' & H'); [exists y; auto|].
  destruct (good_near (Ft t x) (Rmin e e')) as (p & Bp & Gp); [now apply Rmin_glb_lt|]. unfold ball in *. exists p.
  split; [apply H; eapply Rlt_le_trans; [exact Bp|apply Rmin_l]|split;
    [apply H'; eapply Rlt_le_trans; [exact Bp|apply Rmin_r]|exact Gp]].
Qed.
Lemma total : forall t s, In t T -> In s T -> t <> s -> over V W t s -> (gt t s \/ gt s t) /\ ~ (gt t s /\ gt s t).
Proof.
  intros t s Ht Hs D O. destruct (over_good t s Ht Hs O) as (p & A & B & G).
  rewrite (gt_iff t s p), (gt_iff s t p) by auto. apply ontop_total; auto. apply G.
Qed.
Lemma gt_dec : forall t s, In t T -> In s T -> t <> s -> over V W t s -> gt t s \/ ~ gt t s.
Proof.
  intros t s Ht Hs D O. destruct (total t s Ht Hs D O) as ([A|A] & B); [now left|right; intro C; exact (B (conj C A))].
Qed.
Lemma opposite : forall t t' s s', In t T -> In s T -> In t' T -> In s' T -> t <> s -> t' <> s' -> over V W t s ->
  over V W t' s' -> (gt t s <-> gt t' s') -> (gt s t <-> gt s' t').
Proof.
  intros t t' s s' Ht Hs Ht' Hs' D D' O O' E. pose proof (total t s Ht Hs D O). pose proof (total t' s' Ht' Hs' D' O').
  tauto.
Qed.
Lemma transitive : forall t s w x y z, In t T -> In s T -> In w T -> t <> s -> s <> w -> t <> w -> open (geo V t) x ->
  open (geo V s) y -> open (geo V w) z -> Ft t x = Ft s y -> Ft s y = Ft w z -> gt t s -> gt s w -> gt t w.
Proof.
  intros t s w x y z Ht Hs Hw D1 D2 D3 Ox Oy Oz E1 E2. set (p := Ft t x).
  destruct (image_open t p Ht) as (e1 & P1 & H1); [exists x; auto|].
  destruct (image_open s p Hs) as (e2 & P2 & H2); [exists y; auto|].
  destruct (image_open w p Hw) as (e3 & P3 & H3); [exists z; split; [auto|unfold p; congruence]|].
  destruct (good_near p (Rmin e1 (Rmin e2 e3))) as (q & Bq & G); [repeat apply Rmin_glb_lt; auto|]. unfold ball in *.
  assert (A1 : image t q) by (apply H1; eapply Rlt_le_trans; [exact Bq|apply Rmin_l]).
  assert (A2 : image s q) by (apply H2; eapply Rlt_le_trans; [exact Bq|eapply Rle_trans; [apply Rmin_r|apply Rmin_l]]).
  assert (A3 : image w q) by (apply H3; eapply Rlt_le_trans; [exact Bq|eapply Rle_trans; [apply Rmin_r|apply Rmin_r]]).
  rewrite (gt_iff t s q), (gt_iff s w q), (gt_iff t w q) by auto.
  destruct A1 as (x' & Ox' & Ex), A2 as (y' & Oy' & Ey), A3 as (z' & Oz' & Ez).
  rewrite (ontop_iff t s x' y' q), (ontop_iff s w y' z' q), (ontop_iff t w x' z' q) by auto.
  apply (lo_T d F above N Z LO); [apply (meets t s)|apply (meets s w)|apply (meets t w)|rewrite (F_open t x' Ht Ox'),
    Ex; apply G]; congruence.
Qed.
(* ---- at an edge ---- *)
Lemma good_beside : forall a b p e h, a <> b -> left a b p = 0 -> (h = 1 \/ h = -1) -> 0 < e ->
  exists q, ball p e q /\ 0 < h * left a b q /\ good q.
Proof.
  intros a b p e h D L Hh He. set (c := (fst p - h * (snd b - snd a), snd p + h * (fst b - fst a))).
  assert (Lc : 0 < h * left a b c).
  { assert (E : left a b c = h * ((fst b - fst a) * (fst b - fst a) + (snd b - snd a) * (snd b - snd a))) by
      (transitivity (left a b p + h * ((fst b - fst a) * (fst b - fst a) + (snd b - snd a) * (snd b - snd a)));
      [unfold left, c; cbn [fst snd]; ring|rewrite L; ring]).
    rewrite E, <- Rmult_assoc. replace (h * h) with 1 by (destruct Hh as [-> | ->]; ring). rewrite Rmult_1_l.
    set (u := fst b - fst a). set (v := snd b - snd a).
    destruct (Rle_lt_or_eq_dec 0 (u * u + v * v)) as [X|X]; auto; [nra|]. exfalso. apply D. symmetry in X.
    destruct (Rplus_sqr_eq_0 u v X). unfold u, v in *. destruct a, b; simpl in *. f_equal; lra. }
  destruct (mid_near p c e He) as (t & Ht & Bt). set (q0 := mid p c t) in *. assert (L0 : 0 < h * left a b q0).
  { unfold q0. rewrite left_mid, L. replace (h * ((1 - t) * 0 + t * left a b c)) with (t * (h * left a b c)) by ring.
    apply Rmult_lt_0_compat; lra. }
  assert (Nb : exists e1, 0 < e1 /\ forall q, ball q0 e1 q -> 0 < h * left a b q).
  { destruct Hh as [-> | ->]; [destruct (neg_nbhd b a q0) as (e1 & P1 & H1);
      [rewrite left_swap; lra|]|destruct (neg_nbhd a b q0) as (e1 & P1 & H1); [lra|]]; exists e1; (split; [exact P1|]);
      intros q Hq; specialize (H1 q Hq); rewrite ?(left_swap a b q) in H1; lra. }
  destruct Nb as (e1 & P1 & H1). unfold ball in Bt.
  destruct (good_near q0 (Rmin e1 (e - dist p q0))) as (q & Bq & G); [apply Rmin_glb_lt; lra|]. unfold ball in Bq.
  exists q. split; [|split; [|exact G]].
  - apply (ball_sub p e q0); [exact Bt|unfold ball; eapply Rlt_le_trans; [exact Bq|apply Rmin_r]].
  - apply H1. unfold ball. eapply Rlt_le_trans; [exact Bq|apply Rmin_l].
Qed.
(* near an inner place of the image of an edge, the image of a triangle at it is one side of a line a b along it *)
Lemma half_image : forall t t' i j a b, inner T t t' i j -> a <> b -> left a b (W i) = 0 -> left a b (W j) = 0 ->
  exists h h', (h = 1 \/ h = -1) /\ (h' = 1 \/ h' = -1) /\ (tu t = tu t' -> h' = - h) /\ (tu t <> tu t' -> h' = h) /\
  (forall q, image t q -> 0 < h * left a b q) /\ (forall q, image t' q -> 0 < h' * left a b q) /\
  forall m, 0 < m < 1 -> exists e, 0 < e /\ forall q, ball (mid (W i) (W j) m) e q ->
    (0 < h * left a b q -> image t q) /\ (0 < h' * left a b q -> image t' q).
Proof.
  intros t t' i j a b I D Li Lj. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof (inner_ne V W T d M Fo t t' i j I) as NW.
  destruct (edge_side V T t i j Ht Hi Hj Nij) as (g & Hg & _ & A), (edge_side V T t' i j Ht' Hi' Hj' Nij) as
    (g' & Hg' & _ & A').
  pose proof (opposite_sides V T d M t t' i j g g' I Hg Hg' A A') as Og.
  (* left i j is a multiple of left a b *)
  set (n := (fst b - fst a) * (fst b - fst a) + (snd b - snd a) * (snd b - snd a)).
  set (kap := (fst (W j) - fst (W i)) * (fst b - fst a) + (snd (W j) - snd (W i)) * (snd b - snd a)).
  assert (Col : forall q, n * left (W i) (W j) q = kap * left a b q) by (intro q;
    exact (colin a b (W i) (W j) q Li Lj)).
  assert (Pn : 0 < n).
  { unfold n. set (u := fst b - fst a). set (v := snd b - snd a).
    destruct (Rle_lt_or_eq_dec 0 (u * u + v * v)) as [X|X]; auto; [nra|]. exfalso. apply D. symmetry in X.
    destruct (Rplus_sqr_eq_0 u v X). unfold u, v in *. destruct a, b; simpl in *. f_equal; lra. }
  assert (Nk : kap <> 0).
  { intro K. pose proof (W_len V W T d M Fo t i j Ht Hi Hj Nij) as P.
    set (c := (fst (W i) - (snd (W j) - snd (W i)), snd (W i) + (fst (W j) - fst (W i)))). pose proof (Col c) as C.
    rewrite K, Rmult_0_l in C. apply Rmult_integral in C. destruct C as [C|C]; [lra|].
    unfold left, c in C; cbn [fst snd] in C. lra. }
  set (k := if Rlt_dec 0 kap then 1 else -1).
  assert (Hk : k = 1 \/ k = -1) by (unfold k; destruct (Rlt_dec 0 kap); auto).
  assert (Sgn : forall q x, (x = 1 \/ x = -1) -> (0 < x * left (W i) (W j) q <-> 0 < x * k * left a b q)).
  { intros q x Hx. pose proof (Col q) as C. set (l := left (W i) (W j) q) in *. set (l' := left a b q) in *. unfold k.
    destruct (Rlt_dec 0 kap) as [P|P]; [|assert (P' : kap < 0) by lra]; split; intro H; destruct Hx as [-> | ->]; nra. }
  set (h := g * sg t * k). set (h' := g' * sg t' * k). exists h, h'. unfold h, h'.
  assert (Sq : forall x y z, (x = 1 \/ x = -1) -> (y = 1 \/ y = -1) -> (z = 1 \/ z = -1) ->
    x * y * z = 1 \/ x * y * z = -1) by (intros x y z [-> | ->] [-> | ->] [-> | ->]; lra).
  pose proof (sg_cases t) as St. pose proof (sg_cases t') as St'.
  split; [now apply Sq|split; [now apply Sq|split; [|split]]].
  - intro E. assert (X : sg t' = sg t) by (unfold sg; now rewrite E). rewrite X, Og. ring.
  - intro E. assert (X : sg t' = - sg t) by (unfold sg; destruct (tu t), (tu t'); try congruence; lra). rewrite X, Og.
    ring.
  - assert (Img : forall w gw, In w T -> corner w i -> corner w j -> (gw = 1 \/ gw = -1) ->
      (forall q, open (geo V w) q -> 0 < gw * left (V i) (V j) q) -> forall q, image w q ->
      0 < gw * sg w * k * left a b q).
    { intros w gw Hw Wi Wj Hgw Aw q (x & Ox & <-).
      apply Sgn; [destruct Hgw as [-> | ->], (sg_cases w) as [-> | ->]; lra|].
      rewrite (side V W T Ccw Cg w i j x Hw Wi Wj). specialize (Aw x Ox). pose proof (sg_sq w).
      replace (gw * sg w * (sg w * left (V i) (V j) x)) with ((sg w * sg w) * (gw * left (V i) (V j) x)) by ring.
      rewrite H. lra. }
    split; [now apply Img|split; [now apply Img|]]. intros m Hm.
    assert (Near : forall w gw, In w T -> corner w i -> corner w j -> (gw = 1 \/ gw = -1) ->
      (forall q, open (geo V w) q -> 0 < gw * left (V i) (V j) q) -> exists e, 0 < e /\ forall q,
      ball (mid (W i) (W j) m) e q -> 0 < gw * sg w * k * left a b q -> image w q).
    { intros w gw Hw Wi Wj Hgw Aw.
      destruct (near_edge V T d M w i j m Hw Wi Wj Nij Hm) as (g0 & e & Hg0 & He & B & _ & C).
      assert (G0 : g0 = gw).
      { specialize (B _ (centre_open _ (Ccw w Hw))). specialize (Aw _ (centre_open _ (Ccw w Hw))).
        destruct Hg0 as [-> | ->], Hgw as [-> | ->]; lra. }
      subst g0.
      exists (e / 2). split; [lra|]. intros q Bq Hq. destruct (onto V W T d M Fo w q Hw) as (x & Ex). exists x.
      split; [|exact Ex]. apply C.
      - unfold ball in *. pose proof (inv_lip w x (mid (V i) (V j) m) Hw) as L.
        rewrite Ft_mid, !(Ft_corner V W T), Ex in L by (auto; exact Ccw). lra.
      - apply Sgn in Hq; [|destruct Hgw as [-> | ->], (sg_cases w) as [-> | ->]; lra].
        rewrite <- Ex, (side V W T Ccw Cg w i j x Hw Wi Wj) in Hq. pose proof (sg_sq w) as Sw.
        replace (gw * sg w * (sg w * left (V i) (V j) x)) with ((sg w * sg w) * (gw * left (V i) (V j) x)) in Hq by
          ring.
        rewrite Sw in Hq. lra. }
    destruct (Near t g Ht Hi Hj Hg A) as (e & He & X), (Near t' g' Ht' Hi' Hj' Hg' A') as (e' & He' & X').
    exists (Rmin e e'). split; [now apply Rmin_glb_lt|]. unfold ball in *.
    intros q Bq.
    split; intro Hq; [apply X|apply X']; auto; (eapply Rlt_le_trans; [exact Bq|first [apply Rmin_l|apply Rmin_r]]).
Qed.
Lemma same_sign : forall h h' x, (h = 1 \/ h = -1) -> (h' = 1 \/ h' = -1) -> 0 < h * x -> 0 < h' * x -> h' = h.
Proof. intros h h' x [-> | ->] [-> | ->] A B; lra. Qed.
(* a place near by that is not excepted *)
Lemma avoid_near : forall a b lo hi, a <> b -> lo < hi -> exists m, lo < m < hi /\ ~ In (mid a b m) Z.
Proof.
  intros a b lo hi D L. assert (D' : mid a b lo <> mid a b hi).
  { intro E. unfold mid in E. injection E as E1 E2. apply D. assert (X : (hi - lo) * (fst b - fst a) = 0) by lra.
    assert (Y : (hi - lo) * (snd b - snd a) = 0) by lra. apply Rmult_integral in X, Y. destruct X, Y; try lra.
    destruct a, b; simpl in *. f_equal; lra. }
  destruct (avoid (mid a b lo) (mid a b hi) Z D') as (l & h & A1 & A2 & A3 & Av). set (n := (l + h) / 2).
  exists ((1 - n) * lo + n * hi). assert (Hn : 0 < n < 1) by (unfold n; lra). split; [split; nra|].
  replace (mid a b ((1 - n) * lo + n * hi)) with (mid (mid a b lo) (mid a b hi) n) by (unfold mid; cbn [fst snd];
    f_equal; ring).
  apply Av. unfold n. lra.
Qed.
Lemma Ft_edge : forall t i j m, In t T -> corner t i -> corner t j -> Ft t (mid (V i) (V j) m) = mid (W i) (W j) m.
Proof. intros t i j m Ht Hi Hj. rewrite Ft_mid, !(Ft_corner V W T) by (auto; exact Ccw). reflexivity. Qed.
Lemma F_edge : forall t t' i j m, inner T t t' i j -> 0 < m < 1 -> F (mid (V i) (V j) m) = mid (W i) (W j) m.
Proof. intros t t' i j m I Hm. exact (image_of_edge V W T d M t t' i j m I Hm). Qed.
Lemma near_back : forall t u p x q e, In t T -> Ft t u = p -> Ft t x = q -> ball p (e / 2) q -> ball u e x.
Proof.
  intros t u p x q e Ht Eu Ex B. unfold ball in *. pose proof (inv_lip t x u Ht) as L. rewrite Eu, Ex in L. lra.
Qed.
Lemma off_at : forall w q x, In w T -> open (geo V w) x -> Ft w x = q -> good q -> off N (F x).
Proof. intros w q x Hw Ox Ex G. rewrite (F_open w x Hw Ox), Ex. apply G. Qed.
Lemma crossing : forall t t' s i j, inner T t t' i j -> In s T -> cross V W t s i j ->
  (gt t s <-> gt t' s) /\ (gt s t <-> gt s t').
Proof.
  intros t t' s i j I Hs (m0 & y0 & Hm0 & Oy0 & E0). pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
  pose proof (inner_ne V W T d M Fo t t' i j I) as NW. rewrite Ft_edge in E0 by auto.
  destruct (image_open s (mid (W i) (W j) m0) Hs) as (e0 & He0 & Is); [exists y0; auto|].
  destruct (along_near (W i) (W j) m0 e0 He0) as (r0 & Hr0 & Bal).
  destruct (avoid_near (W i) (W j) (Rmax 0 (m0 - r0 / 2)) (Rmin 1 (m0 + r0 / 2)) NW) as (m & Hm & NZ);
    [apply Rmax_lub_lt; apply Rmin_glb_lt; lra|].
  assert (M1 : 0 < m < 1) by (pose proof (Rmax_l 0 (m0 - r0 / 2)); pose proof (Rmin_l 1 (m0 + r0 / 2)); lra).
  assert (M2 : Rabs (m0 - m) < r0) by (pose proof (Rmax_r 0 (m0 - r0 / 2)); pose proof (Rmin_r 1 (m0 + r0 / 2));
    apply Rabs_def1; lra).
  set (p := mid (W i) (W j) m) in *. pose proof (Is p (Bal m M2)) as Ip.
  destruct (image_open s p Hs Ip) as (e1 & He1 & Is1). destruct Ip as (v & Ov & Ev). set (u := mid (V i) (V j) m).
  destruct (half_image t t' i j (W i) (W j) I NW ltac:(unfold left; ring) ltac:(unfold left; ring)) as
    (h & h' & Hh & Hh' & Fl & Fd & A & A' & Near).
  destruct (Near m M1) as (e2 & He2 & Half). fold p in Half.
  assert (Lp : left (W i) (W j) p = 0) by apply left_ends.
  assert (Ds : t <> s) by (intros ->; specialize (A p (ex_intro _ v (conj Ov Ev))); rewrite Lp in A; lra).
  assert (Ds' : t' <> s) by (intros ->; specialize (A' p (ex_intro _ v (conj Ov Ev))); rewrite Lp in A'; lra).
  assert (Eu : Ft t u = p) by (apply Ft_edge; auto). assert (Eu' : Ft t' u = p) by (apply Ft_edge; auto).
  pose proof (F_edge t t' i j m I M1) as FU. fold u p in FU. pose proof (edge_inside V T d M t t' i j m I M1) as In_u.
  fold u in In_u.
  assert (Muv : meet d F u v).
  { repeat split; [exact (Cut.inside_sheet d u In_u)|exact (Cut.inside_sheet d v (open_in V T d M s v Hs Ov))| |rewrite
      FU, (F_open s v Hs Ov); now rewrite Ev].
    intros E. apply Ds. symmetry. apply (m_P1 V T d M s t v Hs Ht Ov). rewrite <- E.
    apply (edge_closed V T d M t i j m Ht Hi Hj). lra. }
  assert (NZu : ~ In (F u) Z) by now rewrite FU.
  assert (One : gt t s <-> gt t' s).
  { destruct (bool_dec (tu t) (tu t')) as [E|E].
    - destruct (lo_C d F above N Z LO u v Muv) as (e & He & C); [split;
        [exact In_u|exact (flat_off t t' i j m I E M1)]|exact (plain_open s v Hs Ov)|exact NZu|].
      set (e3 := Rmin (e / 2) (Rmin e1 e2)). assert (He3 : 0 < e3) by (unfold e3; repeat apply Rmin_glb_lt; lra).
      assert (L1 : e3 <= e / 2) by apply Rmin_l.
      assert (L2 : e3 <= e1) by (eapply Rle_trans; [apply Rmin_r|apply Rmin_l]).
      assert (L3 : e3 <= e2) by (eapply Rle_trans; [apply Rmin_r|apply Rmin_r]).
      destruct (good_beside (W i) (W j) p e3 h NW Lp Hh He3) as (q & Bq & Sq & Gq),
        (good_beside (W i) (W j) p e3 h' NW Lp Hh' He3) as (r & Br & Sr & Gr).
      unfold ball in Bq, Br.
      assert (Iq : image t q) by (apply Half; [unfold ball; lra|exact Sq]).
      assert (Ir : image t' r) by (apply Half; [unfold ball; lra|exact Sr]).
      assert (Jq : image s q) by (apply Is1; unfold ball; lra).
      assert (Jr : image s r) by (apply Is1; unfold ball; lra).
      rewrite (gt_iff t s q), (gt_iff t' s r) by auto.
      destruct Iq as (x & Ox & Ex), Jq as (y & Oy & Ey), Ir as (x' & Ox' & Ex'), Jr as (y' & Oy' & Ey').
      rewrite (ontop_iff t s x y q), (ontop_iff t' s x' y' r) by auto.
      apply C; [apply (near_back t u p x q); auto; unfold ball; lra|apply (near_back s v p y q); auto; unfold ball;
        lra|apply (meets t s); congruence|apply (off_at t q x); auto|apply (near_back t' u p x' r); auto; unfold ball;
        lra|apply (near_back s v p y' r); auto; unfold ball; lra|apply (meets t' s); congruence|apply (off_at t' r x');
        auto].
    - specialize (Fd E). subst h'.
      assert (Go : on_fold d u -> (gt t s <-> gt t' s)).
      { intros (a & b & k & Ic & Fk & Sk).
        destruct (lo_J d F above N Z LO k u v Muv) as (e & He & C); [split;
          [exact In_u|exists a, b; auto]|exact (plain_open s v Hs Ov)|exact NZu|].
        set (e3 := Rmin (e / 2) (Rmin e1 e2)). assert (He3 : 0 < e3) by (unfold e3; repeat apply Rmin_glb_lt; lra).
        assert (L1 : e3 <= e / 2) by apply Rmin_l.
        assert (L2 : e3 <= e1) by (eapply Rle_trans; [apply Rmin_r|apply Rmin_l]).
        assert (L3 : e3 <= e2) by (eapply Rle_trans; [apply Rmin_r|apply Rmin_r]).
        destruct (good_beside (W i) (W j) p e3 h NW Lp Hh He3) as (q & Bq & Sq & Gq). unfold ball in Bq.
        assert (Iq : image t q) by (apply Half; [unfold ball; lra|exact Sq]).
        assert (Iq' : image t' q) by (apply Half; [unfold ball; lra|exact Sq]).
        assert (Jq : image s q) by (apply Is1; unfold ball; lra).
        rewrite (gt_iff t s q), (gt_iff t' s q) by auto.
        destruct Iq as (x & Ox & Ex), Jq as (z & Oz & Ez), Iq' as (y & Oy & Ey).
        rewrite (ontop_iff t s x z q), (ontop_iff t' s y z q) by auto.
        apply C; [apply (near_back t u p x q); auto; unfold ball; lra|apply (near_back t' u p y q); auto; unfold ball;
          lra|apply (near_back s v p z q); auto; unfold ball; lra|apply (meets t t'); congruence|apply (meets t s);
          congruence|apply (meets t' s); congruence|apply (off_at t q x); auto]. }
      (* equal or not is decided, as both are over s *)
      assert (Ov1 : over V W t s /\ over V W t' s).
      { destruct (good_beside (W i) (W j) p (Rmin e1 e2) h NW Lp Hh) as (q & Bq & Sq & Gq); [now apply Rmin_glb_lt|].
        unfold ball in Bq. assert (B1 : dist p q < e1) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_l]).
        assert (B2 : dist p q < e2) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_r]).
        destruct (proj1 (Half q B2) Sq) as (x & Ox & Ex), (proj2 (Half q B2) Sq) as (x' & Ox' & Ex'),
          (Is1 q B1) as (y & Oy & Ey).
        split; [exists x, y|exists x', y]; (split; [assumption|split; [assumption|congruence]]). }
      apply stable; [apply iff_dec; apply gt_dec; tauto|]. intro K.
      exact (turned_fold t t' i j m I E M1 (fun H => K (Go H))). }
  split; [exact One|]. apply (opposite t t' s s); auto.
  - destruct (good_beside (W i) (W j) p (Rmin e1 e2) h NW Lp Hh) as (q & Bq & Sq & Gq); [now apply Rmin_glb_lt|].
    unfold ball in Bq. assert (B1 : dist p q < e1) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_l]).
    assert (B2 : dist p q < e2) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_r]).
    destruct (proj1 (Half q B2) Sq) as (x & Ox & Ex), (Is1 q B1) as (y & Oy & Ey). exists x, y.
    split; [assumption|split; [assumption|congruence]].
  - destruct (good_beside (W i) (W j) p (Rmin e1 e2) h' NW Lp Hh') as (q & Bq & Sq & Gq); [now apply Rmin_glb_lt|].
    unfold ball in Bq. assert (B1 : dist p q < e1) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_l]).
    assert (B2 : dist p q < e2) by (eapply Rlt_le_trans; [exact Bq|apply Rmin_r]).
    destruct (proj2 (Half q B2) Sq) as (x & Ox & Ex), (Is1 q B1) as (y & Oy & Ey). exists x, y.
    split; [assumption|split; [assumption|congruence]].
Qed.
End Images.
