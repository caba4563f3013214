(* A boolean check of the layer order that suffices for the record "layers" of Top.v: a stack of faces, and exceptions
   to it.
   The order is tested first; the geometry only where the order alone does not settle a condition. *)
Require Import Reals List Bool ZArith Arith Lra Psatz Lia.
Require Import Statement Document Cross Cover Parity Paste Layers FoldMap Edge Top Number MeshCheck Mesh Chain
  FoldCheck.
Import ListNotations.
Open Scope R_scope.
Section Bool.
Variables (n : nat) (q : K) (E : list (Z * Z)) (img : nat -> kp) (T : list tr) (cr : list (nat * nat * kind))
  (cs : list (list nat)).
Variables (rank : nat -> Z) (flip : nat -> nat -> bool).
Definition above f g := xorb (rank g <? rank f)%Z (flip f g).
Definition gt t s := above (tf t) (tf s).
(* the image, counter-clockwise *)
Definition it t := if tu t then Tr (ci t) (ck t) (cj t) (tu t) (tf t) else t.
Definition im t := resolve n q img (it t).
Definition beyond l ps := forallb (fun p => nonpos (side_of n q E l p)) ps.
Definition sep (t s : rt) := existsb (fun l => beyond l (cps s)) (lns t) || existsb (fun l => beyond l (cps t)) (lns s).
Definition nocross l x y (s : rt) := forallb (fun p => nonneg (side_of n q E l p)) (cps s) || beyond l (cps s) ||
  existsb (fun m => beyond m [x; y]) (lns s).
Definition strict s := match s with Pos | Neg => true | _ => false end.
(* the open segments xy and zw, z and w on the line l: not on one line, or one beyond an end of the other *)
Definition parted l x y z w := strict (side_of n q E l x) || strict (side_of n q E l y) ||
  (nonpos (sgn E (kdot n q x y z)) && nonpos (sgn E (kdot n q x y w))) ||
    (nonpos (sgn E (kdot n q y x z)) && nonpos (sgn E (kdot n q y x w))).
Definition kcross a b := sub (mul n q (ldx a) (ldy b)) (mul n q (ldy a) (ldx b)).
(* three half planes without a common point, by their multipliers *)
Definition farkas a b c := let x := kcross b c in let y := kcross c a in let z := kcross a b in
  nonneg (sgn E x) && nonneg (sgn E y) && nonneg (sgn E z) && (ispos (sgn E x) || ispos (sgn E y) || ispos (sgn E z)) &&
  nonneg (sgn E (add (mul n q x (lc0 a)) (add (mul n q y (lc0 b)) (mul n q z (lc0 c))))).
Definition nocommon (t s w : rt) := existsb (fun a => existsb (fun b =>
  existsb (fun c => farkas a b c || farkas a c b) (lns w)) (lns s)) (lns t).
Definition marked k := flat_map (fun x => match k, snd (fst x) with Mountain, Mountain | Valley, Valley =>
  steps (snd x) | _, _ => [] end) (combine cr cs).
Definition images := map (fun t => (t, im t)) T.
Definition inner_lines := map (fun x => let '(i, j, t, u) := x in (x, line_of n q (img i) (img j))) (inners T).
Definition total_ok := let all := images in forallb (fun a => forallb (fun b =>
  tr_eqb (fst a) (fst b) || xorb (gt (fst a) (fst b)) (gt (fst b) (fst a)) || sep (snd a) (snd b)) all) all.
Definition exceptional t s := gt t s && negb (rank (tf s) <? rank (tf t))%Z.
Definition trans_ok := let all := images in forallb (fun a => forallb (fun b =>
  negb (exceptional (fst a) (fst b)) || forallb (fun c =>
  negb (gt (fst b) (fst c) && gt (fst c) (fst a)) || sep (snd a) (snd b) || sep (snd b) (snd c) ||
    sep (snd a) (snd c) || nocommon (snd a) (snd b) (snd c)) all) all) all.
Definition cross_ok := let all := images in forallb (fun xl => let '((i, j, t, u), l) :=
  xl in forallb (fun b => let s := fst b in
  (eqb (gt t s) (gt u s) && eqb (gt s t) (gt s u)) || nocross l (img i) (img j) (snd b)) all) inner_lines.
Definition same_edge t t' s s' := tr_eqb t s || tr_eqb t s' || tr_eqb t' s || tr_eqb t' s'.
Definition edges_ok := let all := inners T in forallb (fun yl => let '((k, m, s, s'), l) :=
  yl in forallb (fun x => let '(i, j, t, t') := x in
  (negb (eqb (tu t) (tu t') && eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s') ||
    parted l (img i) (img j) (img k) (img m) || sep (im t) (im s) || sep (im t') (im s')) &&
  (negb (eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s) || parted l (img i) (img j) (img k) (img m) ||
    sep (im t) (im s) || sep (im t') (im s)) &&
  (eqb (eqb (gt t s) (gt t' s)) (eqb (gt t s') (gt t' s')) || same_edge t t' s s' ||
    parted l (img i) (img j) (img k) (img m) ||
     sep (im t) (im s) || sep (im t) (im s') || sep (im t') (im s) || sep (im t') (im s'))) all) inner_lines.
Definition marks_ok := let ms := marked Mountain in let vs := marked Valley in forallb (fun x => let '(i, j, t, u) :=
  x in tu t || negb (tu u) ||
  ((negb (edge_in i j ms) || gt t u) && (negb (edge_in i j vs) || gt u t))) (inners T).
Definition check_layers := total_ok && trans_ok && cross_ok && edges_ok && marks_ok.
End Bool.

Section Sound.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 den : R) (pts img : nat -> kp) (T : list tr) (D : document)
  (cs : list (list nat)).
Variables (rank : nat -> Z) (flip : nat -> nat -> bool).
Hypotheses (Hn : (0 < n)%nat) (Hroot : alpha ^ n = val alpha q) (HS : 0 < S0) (HE : enc_ok alpha S0 0 E)
  (Hden : 0 < den).
Notation V := (MeshCheck.place alpha den pts). Notation W := (MeshCheck.place alpha den img).
Notation d := (doc_at D V). Notation cr := (w_creases D).
Notation rp := (rp alpha den).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation gt := (gt rank flip). Notation im := (im n q img). Notation sep := (sep n q E).
Notation Gt := (fun t s => gt t s = true).
Notation Ccw := (m_ccw V T d M). Notation Cg := (f_congr V W T d Fo).
Lemma sideW : forall t i j x, In t T -> corner t i -> corner t j -> left (W i) (W j) (Ft V W t x) = sg t * left (V i)
  (V j) x.
Proof. intros. apply (side V W T Ccw Cg); auto. Qed.
Lemma img_signs : forall t x, In t T -> (open (geo V t) x -> open (geo W (it t)) (Ft V W t x)) /\
  (closed (geo V t) x -> closed (geo W (it t)) (Ft V W t x)).
Proof.
  intros t x Ht. assert (Ci : corner t (ci t)) by (unfold corner; auto).
  assert (Cj : corner t (cj t)) by (unfold corner; auto). assert (Ck : corner t (ck t)) by (unfold corner; auto).
  pose proof (sideW t (ci t) (cj t) x Ht Ci Cj) as A. pose proof (sideW t (cj t) (ck t) x Ht Cj Ck) as B.
  pose proof (sideW t (ck t) (ci t) x Ht Ck Ci) as C.
  assert (Sw : forall a b y, left a b y = - left b a y) by (intros; unfold left; ring).
  unfold it, sg in *.
  destruct (tu t) eqn:Et; split; intros (H1 & H2 & H3); unfold open, closed, geo in *; cbn [ci cj ck] in *.
  - rewrite (Sw (W (ci t)) (W (ck t))), (Sw (W (ck t)) (W (cj t))), (Sw (W (cj t)) (W (ci t))), A, B, C.
    repeat split; lra.
  - rewrite (Sw (W (ci t)) (W (ck t))), (Sw (W (ck t)) (W (cj t))), (Sw (W (cj t)) (W (ci t))), A, B, C.
    repeat split; lra.
  - rewrite A, B, C. repeat split; lra.
  - rewrite A, B, C. repeat split; lra.
Qed.
Lemma img_ccw : forall t, In t T -> ccw (geo W (it t)).
Proof.
  intros t Ht. pose proof (proj1 (img_signs t (centre (geo V t)) Ht) (centre_open _ (Ccw t Ht))) as (A & B & C).
  unfold ccw, geo in *.
  destruct (bary (W (ci (it t))) (W (cj (it t))) (W (ck (it t))) (Ft V W t (centre (geo V t)))) as (S & _).
  unfold geo in *. lra.
Qed.
Lemma beyond_ok : forall a b u x, ccw (geo W u) -> beyond n q E (line_of n q a b) (cps (resolve n q img u)) = true ->
  closed (geo W u) x -> left (rp a) (rp b) x <= 0.
Proof.
  intros a b u x HC H C. unfold beyond in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
  apply (nonpos_ok n q E alpha S0 den Hn Hroot HS HE Hden) in A1, A2, A3.
  destruct (mean alpha den img u x (rp a) (rp b) HC C) as (p & r & s & P & Q & R & S & St & ->).
  unfold MeshCheck.place. apply mean_le; auto.
Qed.
Lemma open_cl : forall (u : tri) x, open u x -> closed u x.
Proof. intros [[a b] c] x (A & B & C). unfold closed. lra. Qed.
Lemma sep_ok : forall t s, In t T -> In s T -> sep (im t) (im s) = true -> ~ over V W t s.
Proof.
  intros t s Ht Hs H (x & y & Ox & Oy & Eq). pose proof (proj1 (img_signs t x Ht) Ox) as A.
  pose proof (proj1 (img_signs s y Hs) Oy) as B. rewrite Eq in A.
  unfold LayerCheck.sep in H. apply orb_true_iff in H. destruct H as [H|H].
  - destruct (ex_lines n q alpha den img (it t) _ H) as (a & b & N & _ & P). specialize (P _ A).
    pose proof (beyond_ok a b (it s) _ (img_ccw s Hs) N (open_cl _ _ B)). lra.
  - destruct (ex_lines n q alpha den img (it s) _ H) as (a & b & N & _ & P). specialize (P _ B).
    pose proof (beyond_ok a b (it t) _ (img_ccw t Ht) N (open_cl _ _ A)). lra.
Qed.
Lemma mid_mean : forall a b x y m, 0 < m < 1 -> left a b x <= 0 -> left a b y <= 0 -> left a b (mid x y m) <= 0.
Proof. intros. rewrite left_mid. nra. Qed.
Lemma three_on_line : forall a b p r s, a <> b -> left a b p = 0 -> left a b r = 0 -> left a b s = 0 -> left p r s = 0.
Proof.
  intros a b p r s N A B C.
  destruct (on_line_mid a b p N A) as (x & ->), (on_line_mid a b r N B) as (y & ->),
    (on_line_mid a b s N C) as (z & ->).
  unfold left, mid; simpl. ring.
Qed.
Lemma open_front : forall a b u x, a <> b -> ccw (geo W u) -> (forall i, corner u i -> 0 <= left a b (W i)) ->
  open (geo W u) x -> 0 < left a b x.
Proof.
  intros a b u x N HC H O.
  destruct (mean alpha den img u x a b HC (open_cl _ _ O)) as (p & r & s & _ & _ & _ & _ & St & ->).
  destruct (St O) as (P & R & S).
  assert (A : 0 <= left a b (W (ci u))) by (apply H; unfold corner; auto).
  assert (B : 0 <= left a b (W (cj u))) by (apply H; unfold corner; auto).
  assert (C : 0 <= left a b (W (ck u))) by (apply H; unfold corner; auto).
  destruct (Req_dec (left a b (W (ci u))) 0) as [A0|A0]; [|nra].
  destruct (Req_dec (left a b (W (cj u))) 0) as [B0|B0]; [|nra].
  destruct (Req_dec (left a b (W (ck u))) 0) as [C0|C0]; [|nra].
  exfalso. unfold ccw, geo in HC. rewrite (three_on_line a b) in HC; auto. lra.
Qed.
Lemma W_ne : forall t i j, In t T -> corner t i -> corner t j -> i <> j -> W i <> W j.
Proof. intros t i j Ht Hi Hj N X. pose proof (W_len V W T d M Fo t i j Ht Hi Hj N) as L. rewrite X in L. lra. Qed.
Lemma nocross_ok : forall t s i j, In t T -> In s T -> i <> j -> corner t i -> corner t j ->
  nocross n q E (line_of n q (img i) (img j)) (img i) (img j) (im s) = true -> ~ cross V W t s i j.
Proof.
  intros t s i j Ht Hs Nij Hi Hj H (m & y & Hm & Oy & Eq).
  rewrite Ft_mid, !(Ft_corner V W T) in Eq by (auto; exact Ccw).
  pose proof (proj1 (img_signs s y Hs) Oy) as B. pose proof (W_ne t i j Ht Hi Hj Nij) as NW.
  unfold nocross in H. rewrite !orb_true_iff in H.
  assert (Z : left (W i) (W j) (Ft V W s y) = 0) by (rewrite <- Eq; apply left_ends).
  destruct H as [[H|H]|H].
  - simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
    apply (Chain.nonneg_ok n q E alpha S0 den Hn Hroot HS HE Hden) in A1, A2, A3.
    assert (X : 0 < left (W i) (W j) (Ft V W s y)); [|lra]. apply (open_front _ _ (it s)); auto; [now apply img_ccw|].
    intros k [-> | [-> | ->]]; assumption.
  - unfold beyond in H. simpl in H. rewrite !andb_true_iff in H. destruct H as (A1 & A2 & A3 & _).
    apply (nonpos_ok n q E alpha S0 den Hn Hroot HS HE Hden) in A1, A2, A3.
    assert (X : 0 < left (W j) (W i) (Ft V W s y)); [|rewrite left_swap in X; lra].
    apply (open_front _ _ (it s)); auto; [now apply img_ccw|].
    intros k [-> | [-> | ->]]; rewrite left_swap; unfold MeshCheck.place; lra.
  - destruct (ex_lines n q alpha den img (it s) _ H) as (a & b & N & _ & P). specialize (P _ B). unfold beyond in N.
    simpl in N. rewrite !andb_true_iff in N. destruct N as (A1 & A2 & _).
    apply (nonpos_ok n q E alpha S0 den Hn Hroot HS HE Hden) in A1, A2. pose proof (mid_mean _ _ _ _ m Hm A1 A2) as Q.
    unfold MeshCheck.place in *. rewrite Eq in Q. lra.
Qed.
Lemma parted_ok : forall t s i j k l, In t T -> In s T -> i <> j -> corner t i -> corner t j -> corner s k ->
  corner s l ->
  parted n q E (line_of n q (img k) (img l)) (img i) (img j) (img k) (img l) = true -> ~ touch V W t s i j k l.
Proof.
  intros t s i j k l Ht Hs Nij Hi Hj Hk Hl H (m & r & Hm & Hr & Eq & Li & Lj).
  rewrite !Ft_mid, !(Ft_corner V W T) in Eq by (auto; exact Ccw).
  assert (St : forall x, strict (side_of n q E (line_of n q (img k) (img l)) x) = true -> left (W k) (W l) (rp x) <> 0).
  { intros x Hx. pose proof (side_ok n q E alpha S0 den Hn Hroot HS HE Hden (img k) (img l) x). unfold MeshCheck.place.
    destruct (side_of _ _ _ _ _); try discriminate; lra. }
  assert (Np : forall a b c, nonpos (sgn E (kdot n q (img a) (img b) (img c))) = true -> dotp (W a) (W b) (W c) <= 0).
  { intros a b c Hc. pose proof (dot_sign n q E alpha S0 den Hn Hroot HS HE Hden (img a) (img b) (img c)).
    unfold MeshCheck.place. destruct (sgn E _); try discriminate; lra. }
  assert (Dm : forall a b c e u, dotp a b (mid c e u) = (1 - u) * dotp a b c + u * dotp a b e) by (intros;
    unfold dotp, mid; simpl; ring).
  assert (Daa : forall a b, dotp a b a = 0) by (intros; unfold dotp; ring).
  pose proof (W_len V W T d M Fo t i j Ht Hi Hj Nij) as L.
  unfold parted in H. rewrite !orb_true_iff, !andb_true_iff in H. destruct H as [[[H|H]|[H1 H2]]|[H1 H2]].
  - exact (St _ H Li). - exact (St _ H Lj).
  - apply Np in H1, H2. pose proof (Dm (W i) (W j) (W i) (W j) m) as X. rewrite Eq, Dm, Daa in X.
    assert (0 < dotp (W i) (W j) (W j)) by (unfold dotp; lra). nra.
  - apply Np in H1, H2. pose proof (Dm (W j) (W i) (W i) (W j) m) as X. rewrite Eq, Dm, Daa in X.
    assert (0 < dotp (W j) (W i) (W i)) by (unfold dotp; lra). nra.
Qed.
(* three open half planes that have no common point *)
Definition lnval (f : ln) (p : pt) := val alpha (ldx f) / den * snd p - val alpha (ldy f) / den * fst p - val alpha
  (lc0 f) / (den * den).
Lemma lnval_left : forall a b p, lnval (line_of n q a b) p = left (rp a) (rp b) p.
Proof.
  intros. unfold lnval, line_of, left, MeshCheck.rp; cbn [ldx ldy lc0 fst snd].
  rewrite !(val_sub alpha), !(val_mul n q alpha Hroot), !(val_sub alpha) by auto. field. lra.
Qed.
Lemma sgn_nonneg : forall x, nonneg (sgn E x) = true -> 0 <= val alpha x.
Proof. intros x H. pose proof (sgn_ok alpha S0 HS E x HE). destruct (sgn E x); try discriminate; lra. Qed.
Lemma sgn_pos : forall x, ispos (sgn E x) = true -> 0 < val alpha x.
Proof. intros x H. pose proof (sgn_ok alpha S0 HS E x HE). destruct (sgn E x); try discriminate; lra. Qed.
Lemma farkas_ok : forall a b c p, farkas n q E a b c = true -> 0 < lnval a p -> 0 < lnval b p -> 0 < lnval c p -> False.
Proof.
  intros a b c p H A B C. unfold farkas in H. cbv zeta in H. rewrite !andb_true_iff, !orb_true_iff in H.
  destruct H as ((((X & Y) & Z) & S) & G).
  apply sgn_nonneg in X, Y, Z, G. set (x := val alpha (kcross n q b c)) in *.
  set (y := val alpha (kcross n q c a)) in *. set (z := val alpha (kcross n q a b)) in *.
  assert (P : 0 < x * lnval a p + y * lnval b p + z * lnval c p).
  { destruct S as [[S|S]|S]; apply sgn_pos in S; fold x in S || fold y in S || fold z in S; nra. }
  rewrite !(val_add alpha), !(val_mul n q alpha Hroot) in G by auto. fold x y z in G.
  assert (Sum : x * lnval a p + y * lnval b p + z * lnval c p = - ((x * val alpha (lc0 a) +
    (y * val alpha (lc0 b) + z * val alpha (lc0 c))) / (den * den))).
  { unfold x, y, z, kcross, lnval. rewrite !(val_sub alpha), !(val_mul n q alpha Hroot) by auto. field. lra. }
  rewrite Sum in P.
  assert (0 <= (x * val alpha (lc0 a) + (y * val alpha (lc0 b) + z * val alpha (lc0 c))) / (den * den)); [|lra].
  apply Rmult_le_pos; auto. left. apply Rinv_0_lt_compat. apply Rmult_lt_0_compat; auto.
Qed.
Lemma nocommon_ok : forall t s w x y z, In t T -> In s T -> In w T -> open (geo V t) x -> open (geo V s) y ->
  open (geo V w) z -> Ft V W t x = Ft V W s y -> Ft V W s y = Ft V W w z ->
  nocommon n q E (im t) (im s) (im w) = true -> False.
Proof.
  intros t s w x y z Ht Hs Hw Ox Oy Oz E1 E2 H. apply (proj1 (img_signs t x Ht)) in Ox.
  apply (proj1 (img_signs s y Hs)) in Oy. apply (proj1 (img_signs w z Hw)) in Oz. rewrite E1 in Ox. rewrite <- E2 in Oz.
  unfold nocommon in H. destruct (ex_lines n q alpha den img (it t) _ H) as (a & a' & N1 & _ & P1).
  destruct (ex_lines n q alpha den img (it s) _ N1) as (b & b' & N2 & _ & P2).
  destruct (ex_lines n q alpha den img (it w) _ N2) as (c & c' & N3 & _ & P3). specialize (P1 _ Ox).
  specialize (P2 _ Oy). specialize (P3 _ Oz). rewrite <- lnval_left in P1, P2, P3.
  apply orb_true_iff in N3. destruct N3 as [N|N]; eapply farkas_ok; eauto.
Qed.
Lemma in_images : forall t, In t T -> In (t, im t) (images n q img T).
Proof. intros t Ht. unfold images. apply in_map_iff. eauto. Qed.
Lemma exceptional_ok : forall t s, gt t s = true -> exceptional rank flip t s = false -> (rank (tf s) < rank (tf t))%Z.
Proof.
  intros t s G H. unfold exceptional in H. fold gt in H. rewrite G in H. simpl in H. apply negb_false_iff in H.
  now apply Z.ltb_lt.
Qed.
Hypothesis Hedge : forall x y, In (x, y) (fold_steps cr cs) -> exists t, In t T /\ corner t x /\ corner t y.
Theorem layers_of_check : chains n q E pts (map fst cr) cs = true -> check_layers n q E img T cr cs rank flip = true ->
  layers V W T d Gt.
Proof.
  intros Hch H. unfold check_layers in H. rewrite !andb_true_iff in H. destruct H as ((((H1 & H2) & H3) & H4) & H5).
  unfold total_ok in H1. unfold trans_ok in H2. unfold cross_ok in H3. unfold edges_ok in H4. unfold marks_ok in H5.
  cbv zeta in H1, H2, H3, H4, H5. rewrite forallb_forall in H1, H2, H3, H4, H5.
  assert (Tot : forall t s, In t T -> In s T -> t <> s -> over V W t s -> xorb (gt t s) (gt s t) = true).
  { intros t s Ht Hs N O. specialize (H1 _ (in_images t Ht)). rewrite forallb_forall in H1.
    specialize (H1 _ (in_images s Hs)). cbn [fst snd] in H1. rewrite !orb_true_iff in H1.
    destruct H1 as [[H1|H1]|H1]; auto; exfalso; [apply tr_eqb_iff in H1; contradiction|]. exact (sep_ok t s Ht Hs H1 O).
      }
  assert (Lines : forall t u i j, In (i, j, t, u) (inners T) -> In ((i, j, t, u), line_of n q (img i) (img j))
    (inner_lines n q img T)).
  { intros t u i j I. unfold inner_lines. apply in_map_iff. exists (i, j, t, u). auto. }
  assert (Cross2 : forall t t' s i j, inner T t t' i j -> In (i, j, t, t') (inners T) -> In s T -> cross V W t s i j ->
    gt t s = gt t' s /\ gt s t = gt s t').
  { intros t t' s i j (Ht & _ & _ & Nij & Hi & Hj & _) I Hs C. specialize (H3 _ (Lines _ _ _ _ I)).
    cbv beta iota zeta in H3. rewrite forallb_forall in H3. specialize (H3 _ (in_images s Hs)). cbn [fst snd] in H3.
    apply orb_true_iff in H3.
    destruct H3 as [H3|H3]; [apply andb_true_iff in H3; destruct H3 as [A B]; apply eqb_prop in A, B; auto|]. exfalso.
    exact (nocross_ok t s i j Ht Hs Nij Hi Hj H3 C). }
  assert (CrossSym : forall t s i j, In t T -> corner t i -> corner t j -> cross V W t s i j -> cross V W t s j i).
  { intros t s i j Ht _ _ (m & y & Hm & Oy & Eq). exists (1 - m), y. split; [lra|split; auto]. rewrite <- mid_sym.
    exact Eq. }
  assert (TouchSym1 : forall t s i j k l, touch V W t s i j k l -> touch V W t s j i k l).
  { intros t s i j k l (m & r & Hm & Hr & Eq & A & B). exists (1 - m), r. split; [lra|split; [auto|split; [|auto]]].
    rewrite <- mid_sym. exact Eq. }
  assert (TouchSym2 : forall t s i j k l, touch V W t s i j k l -> touch V W t s i j l k).
  { intros t s i j k l (m & r & Hm & Hr & Eq & A & B). exists m, (1 - r).
    split; [auto|split; [lra|split; [rewrite <- mid_sym; exact Eq|]]].
    rewrite (left_swap (W k) (W l) (W i)), (left_swap (W k) (W l) (W j)), A, B. split; ring. }
  (* what the test of two edges gives, with the ends in the order of the lists *)
  assert (Pair : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l -> touch V W t s i j k l ->
    (negb (eqb (tu t) (tu t') && eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s') || sep (im t) (im s) ||
      sep (im t') (im s') = true) /\
    (negb (eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s) || sep (im t) (im s) || sep (im t') (im s) = true) /\
    (eqb (eqb (gt t s) (gt t' s)) (eqb (gt t s') (gt t' s')) || same_edge t t' s s' || sep (im t) (im s) ||
      sep (im t) (im s') || sep (im t') (im s) || sep (im t') (im s') = true)).
  { assert (X : forall t t' s s' i j k l, In (i, j, t, t') (inners T) -> In (k, l, s, s') (inners T) ->
      touch V W t s i j k l ->
      (negb (eqb (tu t) (tu t') && eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s') || sep (im t) (im s) ||
        sep (im t') (im s') = true) /\
    (negb (eqb (tu s) (tu s')) || eqb (gt t s) (gt t' s) || sep (im t) (im s) || sep (im t') (im s) = true) /\
    (eqb (eqb (gt t s) (gt t' s)) (eqb (gt t s') (gt t' s')) || same_edge t t' s s' || sep (im t) (im s) ||
      sep (im t) (im s') || sep (im t') (im s) || sep (im t') (im s') = true)).
    { intros t t' s s' i j k l I J Tc. specialize (H4 _ (Lines _ _ _ _ J)). cbv beta iota zeta in H4.
      rewrite forallb_forall in H4. specialize (H4 _ I). cbv beta iota zeta in H4.
      destruct (inners_inner T t t' i j (m_ne V T d M) I) as (Ht & _ & _ & Nij & Hi & Hj & _).
      destruct (inners_inner T s s' k l (m_ne V T d M) J) as (Hs & _ & _ & _ & Hk & Hl & _).
      destruct (parted n q E (line_of n q (img k) (img l)) (img i) (img j) (img k) (img l)) eqn:Q.
      - exfalso. exact (parted_ok t s i j k l Ht Hs Nij Hi Hj Hk Hl Q Tc).
      - rewrite !orb_false_r in H4. rewrite !andb_true_iff in H4. tauto. }
    intros t t' s s' i j k l I J Tc. destruct (inners_in T t t' i j I) as [I'|I'], (inners_in T s s' k l J) as [J'|J'].
    - exact (X t t' s s' i j k l I' J' Tc). - exact (X t t' s s' i j l k I' J' (TouchSym2 _ _ _ _ _ _ Tc)).
    - exact (X t t' s s' j i k l I' J' (TouchSym1 _ _ _ _ _ _ Tc)).
    - exact (X t t' s s' j i l k I' J' (TouchSym1 _ _ _ _ _ _ (TouchSym2 _ _ _ _ _ _ Tc))). }
  assert (Bi : forall a b : bool, a = b -> (a = true <-> b = true)) by (intros a b ->; tauto).
  constructor.
  - intros t s Ht Hs N O. specialize (Tot t s Ht Hs N O).
    destruct (gt t s), (gt s t); simpl in Tot; try discriminate; split; auto; intros [A B]; discriminate.
  - intros t s w x y z Ht Hs Hw N1 N2 N3 Ox Oy Oz E1 E2 G1 G2. destruct (gt t w) eqn:G3; auto. exfalso.
    assert (O1 : over V W t s) by (exists x, y; auto). assert (O2 : over V W s w) by (exists y, z; auto).
    assert (O3 : over V W t w) by (exists x, z; rewrite E1; auto).
    assert (O4 : over V W w t) by (destruct O3 as (a & b & A & B & C); exists b, a; auto).
    assert (O5 : over V W w s) by (destruct O2 as (a & b & A & B & C); exists b, a; auto).
    assert (O6 : over V W s t) by (destruct O1 as (a & b & A & B & C); exists b, a; auto).
    pose proof (Tot t w Ht Hw N3 O3) as G4. rewrite G3, xorb_false_l in G4.
    assert (Cyc : forall a b c, In a T -> In b T -> In c T -> gt a b = true -> gt b c = true -> gt c a = true ->
      over V W a b -> over V W b c -> over V W a c ->
      (forall p r u, open (geo V a) p -> open (geo V b) r -> open (geo V c) u -> Ft V W a p = Ft V W b r ->
        Ft V W b r = Ft V W c u -> nocommon n q E (im a) (im b) (im c) = true -> False) ->
      (exists p r u, open (geo V a) p /\ open (geo V b) r /\ open (geo V c) u /\ Ft V W a p = Ft V W b r /\
        Ft V W b r = Ft V W c u) -> exceptional rank flip a b = false).
    { intros a b c Ha Hb Hc Gab Gbc Gca Oab Obc Oac NC (p & r & u & Op & Or & Ou & F1 & F2).
      specialize (H2 _ (in_images a Ha)). rewrite forallb_forall in H2. specialize (H2 _ (in_images b Hb)).
      cbn [fst snd] in H2.
      destruct (exceptional rank flip a b) eqn:Ex; auto. exfalso. simpl in H2. rewrite forallb_forall in H2.
      specialize (H2 _ (in_images c Hc)). cbn [fst snd] in H2. rewrite Gbc, Gca in H2. simpl in H2.
      rewrite !orb_true_iff in H2.
      destruct H2 as [[[H2|H2]|H2]|H2]; [exact (sep_ok a b Ha Hb H2 Oab)|exact (sep_ok b c Hb Hc H2 Obc)|exact
        (sep_ok a c Ha Hc H2 Oac)|exact (NC p r u Op Or Ou F1 F2 H2)]. }
    pose proof (Cyc t s w Ht Hs Hw G1 G2 G4 O1 O2 O3 ltac:(intros; eapply (nocommon_ok t s w p r u); eauto)
      ltac:(exists x, y, z; auto)) as X1.
    pose proof (Cyc s w t Hs Hw Ht G2 G4 G1 O2 O4 O6 ltac:(intros; eapply (nocommon_ok s w t p r u); eauto)
      ltac:(exists y, z, x; rewrite E1, E2; auto)) as X2.
    pose proof (Cyc w t s Hw Ht Hs G4 G1 G2 O4 O1 O5 ltac:(intros; eapply (nocommon_ok w t s p r u); eauto)
      ltac:(exists z, x, y; rewrite E1, E2; auto)) as X3.
    pose proof (exceptional_ok t s G1 X1). pose proof (exceptional_ok s w G2 X2). pose proof (exceptional_ok w t G4 X3).
    lia.
  - intros t t' s i j I Hs C. destruct (inners_in T t t' i j I) as [J|J].
    + destruct (Cross2 t t' s i j I J Hs C) as [-> ->]. tauto.
    + pose proof (inners_inner T t t' j i (m_ne V T d M) J) as I'. pose proof I as (Ht & _ & _ & _ & Hi & Hj & _).
      destruct (Cross2 t t' s j i I' J Hs (CrossSym _ _ _ _ Ht Hi Hj C)) as [-> ->]. tauto.
  - intros t t' s s' i j k l I J Ft Fs Tc Oa Ob. destruct (Pair t t' s s' i j k l I J Tc) as (A & _ & _).
    pose proof I as (Ht & Ht' & _). pose proof J as (Hs & Hs' & _).
    rewrite Ft, Fs, !eqb_reflx in A. simpl in A. rewrite !orb_true_iff in A.
    destruct A as [[A|A]|A]; [apply eqb_prop in A; auto|exfalso; exact (sep_ok t s Ht Hs A Oa)|exfalso;
      exact (sep_ok t' s' Ht' Hs' A Ob)].
  - intros t t' s s' i j k l I J Fs Tc Oa Ob. destruct (Pair t t' s s' i j k l I J Tc) as (_ & A & _).
    pose proof I as (Ht & Ht' & _). pose proof J as (Hs & Hs' & _).
    rewrite Fs, !eqb_reflx in A. simpl in A. rewrite !orb_true_iff in A.
    destruct A as [[A|A]|A]; [apply eqb_prop in A; auto|exfalso; exact (sep_ok t s Ht Hs A Oa)|exfalso;
      exact (sep_ok t' s Ht' Hs A Ob)].
  - intros t t' s s' i j k l I J N1 N2 N3 N4 Tc O1 O2 O3 O4. destruct (Pair t t' s s' i j k l I J Tc) as (_ & _ & A).
    pose proof I as (Ht & Ht' & _). pose proof J as (Hs & Hs' & _).
    rewrite !orb_true_iff in A.
    destruct A as [[[[[A|A]|A]|A]|A]|A]; [|unfold same_edge in A; rewrite !orb_true_iff, !tr_eqb_iff in A;
      tauto| | | |].
    + apply eqb_prop in A.
      destruct (gt t s), (gt t' s), (gt t s'), (gt t' s'); simpl in A; try discriminate A; clear;
        intuition discriminate.
    + exfalso; exact (sep_ok t s Ht Hs A O1).
    + exfalso; exact (sep_ok t s' Ht Hs' A O2).
    + exfalso; exact (sep_ok t' s Ht' Hs A O3).
    + exfalso; exact (sep_ok t' s' Ht' Hs' A O4).
  - intros t t' i j l k I Hl Cr Tt Tt'. pose proof I as (Ht & Ht' & Dt & Nij & Hi & Hj & Hi' & Hj').
    assert (Mk : (edge_in i j (marked cr cs Mountain) = true -> gt t t' = true) /\
      (edge_in i j (marked cr cs Valley) = true -> gt t' t = true)).
    { destruct (inners_in T t t' i j I) as [X|X]; specialize (H5 _ X); cbv beta iota zeta in H5; rewrite Tt, Tt' in H5;
        simpl in H5; apply andb_true_iff in H5; destruct H5 as [A B];
      try rewrite (edge_in_sym j i) in A; try rewrite (edge_in_sym j i) in B; split; intro Q; rewrite Q in *;
        simpl in *; auto. }
    destruct Cr as (_ & a & b & Hc & Fk & Hp).
    apply in_map_iff in Hc. destruct Hc as ([[a' b'] k'] & Q & Hc). cbn [fst snd] in Q. injection Q as <- <- <-.
    destruct (proj2 (chains_combine n q E pts cr cs Hch) _ Hc) as (vs & Iv).
    destruct (proj1 (chains_combine n q E pts cr cs Hch) _ _ Iv) as [_ C]. cbn [fst snd] in C.
    destruct (chain_ok n q E alpha S0 den pts Hn Hroot HS HE Hden a' b' vs C) as (_ & C2 & C3).
    destruct (C3 _ Hp) as (x & y & Ixy & m & Hm & Ep). destruct (C2 x y Ixy) as (Sx & Sy & Nxy).
    fold (mid (V x) (V y) m) in Ep.
    assert (If : In (x, y) (fold_steps cr cs)).
    { apply in_flat_map. exists ((a', b', k'), vs). split; auto. cbn [fst snd]. destruct k'; auto. exfalso. apply Fk.
      reflexivity. }
    destruct (Hedge x y If) as (u & Hu & Ux & Uy).
    assert (Cu : closed (geo V u) (mid (V i) (V j) l)).
    { rewrite Ep. destruct (corners_closed alpha den pts u (Ccw u Hu)) as (C0 & _).
      destruct (C0 x Ux) as (A1 & A2 & A3), (C0 y Uy) as (B1 & B2 & B3). unfold closed, geo. rewrite !left_mid.
      repeat split; nra. }
    destruct (m_P2 V T d M t u i j l Ht Hu Hi Hj Nij Hl Cu) as (Ui & Uj).
    assert (NV : V i <> V j) by (apply (V_ne V T Ccw t); auto).
    assert (Off : forall z, corner u z -> z <> i -> z <> j -> left (V i) (V j) (V z) <> 0).
    { intros z Hz Zi Zj. pose proof (Ccw u Hu) as HC. unfold ccw, geo in HC.
      destruct Ui as [-> | [-> | ->]], Uj as [-> | [-> | ->]], Hz as [-> | [-> | ->]]; try congruence; unfold left in *;
        lra. }
    assert (P0 : left (V i) (V j) (mid (V x) (V y) m) = 0) by (rewrite <- Ep; apply left_ends). rewrite left_mid in P0.
    assert (Ends : forall z, z = i \/ z = j -> left (V i) (V j) (V z) = 0) by (intros z [-> | ->]; unfold left; ring).
    assert (Not : forall z, z = i \/ z = j -> mid (V i) (V j) l <> V z).
    { intros z Hz Q. apply NV. unfold mid in Q. destruct (V i) as [ix iy] eqn:Ei, (V j) as [jx jy] eqn:Ej.
      cbn [fst snd] in Q.
      assert (Q' : V z = (ix, iy) \/ V z = (jx, jy)) by (destruct Hz as [-> | ->]; auto).
      destruct Q' as [Q'|Q']; rewrite Q' in Q; injection Q as Qx Qy; f_equal; nra. }
    assert (Nx : x <> y) by (intros ->; apply Nxy; reflexivity).
    assert (X : x = i \/ x = j).
    { destruct (Nat.eq_dec x i); auto. destruct (Nat.eq_dec x j); auto. exfalso. pose proof (Off x Ux n0 n1) as O.
      assert (Y : y = i \/ y = j).
      { destruct Ui as [-> | [-> | ->]], Uj as [-> | [-> | ->]], Ux as [-> | [-> | ->]], Uy as [-> | [-> | ->]];
          try congruence; auto. }
      rewrite (Ends y Y), Rmult_0_r, Rplus_0_r in P0. apply Rmult_integral in P0.
      destruct P0 as [P0|P0]; [|contradiction]. apply (Not y Y). rewrite Ep. replace m with 1 by lra. apply mid_1. }
    assert (Y : y = i \/ y = j).
    { destruct (Nat.eq_dec y i); auto. destruct (Nat.eq_dec y j); auto. exfalso. pose proof (Off y Uy n0 n1) as O.
      rewrite (Ends x X), Rmult_0_r, Rplus_0_l in P0. apply Rmult_integral in P0.
      destruct P0 as [P0|P0]; [|contradiction]. apply (Not x X). rewrite Ep, P0. apply mid_0. }
    assert (Z : edge_in i j (steps vs) = true) by (apply edge_in_yes; destruct X as [-> | ->], Y as [-> | ->];
      try congruence; auto).
    assert (Up : forall k0, k' = k0 -> k0 = Mountain \/ k0 = Valley -> edge_in i j (marked cr cs k0) = true).
    { intros k0 Q Kk. apply edge_in_yes. apply edge_in_ok in Z.
      assert (U : forall e, In e (steps vs) -> In e (marked cr cs k0)).
      { intros e He. apply in_flat_map. exists ((a', b', k'), vs). split; auto. cbn [fst snd]. rewrite Q.
        destruct Kk as [-> | ->]; exact He. }
      destruct Z; auto. }
    split; intro Q; apply Mk; apply Up; auto.
Qed.
End Sound.
