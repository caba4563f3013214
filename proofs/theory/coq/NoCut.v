(* One line that would free the target cannot: two target edges apart, or a triangle astride. *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover Paste Layers FoldMap Edge Cut Top Closure FoldMapUnique.
Import ListNotations.
Open Scope R_scope.
Lemma on_line_left : forall l a b c, proper l -> on_line l a -> on_line l b -> on_line l c -> left a b c = 0.
Proof.
  intros [[A B] C] a b c P Ha Hb Hc. unfold on_line, proper in *. unfold left.
  assert (X : A * (fst b - fst a) + B * (snd b - snd a) = 0) by lra. assert (Y : A * (fst c - fst a) + B * (snd c - snd a) = 0) by lra.
  set (ux := fst b - fst a) in *. set (uy := snd b - snd a) in *. set (vx := fst c - fst a) in *. set (vy := snd c - snd a) in *.
  assert (Z : (A * A + B * B) * (ux * vy - uy * vx) = 0).
  { transitivity ((A * ux + B * uy) * (A * vy - B * vx) - (A * vx + B * vy) * (A * uy - B * ux)); [ring|rewrite X, Y; ring]. }
  apply Rmult_integral in Z. destruct Z; [contradiction|lra].
Qed.
Section NoCut.
Variables (V W : nat -> pt) (T : list tr) (d : doc).
Hypothesis M : mesh V T d. Hypothesis Fo : folds V W T d.
Notation Ccw := (m_ccw V T d M). Notation F := (F V W T).
Lemma F_at : forall t p, In t T -> closed (geo V t) p -> F p = Ft V W t p.
Proof. intros t p Ht C. apply (F_on V W T Ccw (m_P1 V T d M) (m_P2 V T d M) (m_P3 V T d M) (m_ne V T d M) t p Ht C). Qed.
Lemma ends_on : forall t t' i j l, inner T t t' i j -> (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> cut_by d F (on_line l) -> on_line l (W i) /\ on_line l (W j).
Proof.
  intros t t' i j l I Tg (_ & B). pose proof I as (Ht & _ & _ & D & Hi & Hj & _).
  assert (X : forall m, 0 < m < 1 -> on_line l (mid (W i) (W j) m)).
  { intros m Hm. pose proof (edge_inside V T d M t t' i j m I Hm) as In_. pose proof (proj2 (B _ In_) (Tg m Hm)) as H.
    rewrite (F_at t) in H; auto; [rewrite Ft_mid, !(Ft_corner V W T) in H by (auto; exact Ccw); exact H|]. destruct (near_edge V T d M t i j m Ht Hi Hj D Hm) as (g & e & _ & He & _ & C & _).
    apply C; [unfold ball, dist; rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra|rewrite left_ends; lra]. }
  pose proof (X (1 / 3) ltac:(lra)) as A1. pose proof (X (2 / 3) ltac:(lra)) as A2. destruct l as [[A B'] C]. unfold on_line, mid in *. cbn [fst snd] in *. split; lra.
Qed.
Theorem no_line_apart : forall t t' s s' i j k l, inner T t t' i j -> inner T s s' k l ->
  (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> (forall m, 0 < m < 1 -> on_target d (mid (V k) (V l) m)) ->
  left (W i) (W j) (W k) <> 0 -> ~ cut_exact d F.
Proof.
  intros t t' s s' i j k l I J Ti Tk N (ln & P & Cu). apply N. destruct (ends_on t t' i j ln I Ti Cu) as (A & B). destruct (ends_on s s' k l ln J Tk Cu) as (C & _).
  exact (on_line_left ln _ _ _ P A B C).
Qed.
Theorem no_line_stray : forall t t' u i j k l, inner T t t' i j -> In u T -> corner u k -> corner u l ->
  (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> (forall p, open (geo V u) p -> ~ on_target d p) ->
  0 < left (W i) (W j) (W k) -> left (W i) (W j) (W l) < 0 -> ~ cut_exact d F.
Proof.
  intros t t' u i j k l I Hu Uk Ul Ti Off Pk Pl (ln & P & Cu). destruct (ends_on t t' i j ln I Ti Cu) as (A & B). pose proof Cu as (_ & Cut_).
  pose proof (W_len V W T d M Fo t i j) as L. pose proof I as (Ht & _ & _ & D & Hi & Hj & _). specialize (L Ht Hi Hj D).
  (* a point with left = 0 is on the line *)
  assert (On : forall p, left (W i) (W j) p = 0 -> on_line ln p).
  { intros p Hp. destruct ln as [[a b] c]. unfold on_line, proper, left in *. set (x := fst (W j) - fst (W i)) in *. set (y := snd (W j) - snd (W i)) in *.
    assert (E : a * x + b * y = 0) by (unfold x, y; lra). assert (Q : (x * x + y * y) * (a * (fst p - fst (W i)) + b * (snd p - snd (W i))) = 0).
    { transitivity ((a * x + b * y) * (x * (fst p - fst (W i)) + y * (snd p - snd (W i))) + (b * x - a * y) * (x * (snd p - snd (W i)) - y * (fst p - fst (W i)))); [ring|rewrite E, Hp; ring]. }
    apply Rmult_integral in Q. destruct Q; lra. }
  (* an inner point of the triangle whose image is on the line *)
  assert (Ex : exists p, open (geo V u) p /\ left (W i) (W j) (Ft V W u p) = 0).
  { set (z := centre (geo V u)). pose proof (centre_open _ (Ccw u Hu)) as Oz. fold z in Oz. set (v := left (W i) (W j) (Ft V W u z)).
    assert (Towards : forall q c, corner u q -> v * left (W i) (W j) (W q) < 0 -> c = v / (v - left (W i) (W j) (W q)) -> open (geo V u) (mid z (V q) c) /\ left (W i) (W j) (Ft V W u (mid z (V q) c)) = 0).
    { intros q c Hq Hv Hc. set (w := left (W i) (W j) (W q)) in *. assert (Nz : v - w <> 0) by (intro; assert (v = w) by lra; subst v; nra).
      assert (Rg : 0 < c < 1).
      { subst c. destruct (Rtotal_order v 0) as [S|[S|S]]; [|rewrite S in Hv; lra|].
        - assert (0 < w) by nra. replace (v / (v - w)) with ((- v) / (w - v)) by (field; lra). split; [apply Rdiv_lt_0_compat; lra|]. apply Rmult_lt_reg_r with (w - v); [lra|]. unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra.
        - assert (w < 0) by nra. split; [apply Rdiv_lt_0_compat; lra|]. apply Rmult_lt_reg_r with (v - w); [lra|]. unfold Rdiv. rewrite Rmult_assoc, Rinv_l; lra. }
      split.
      - assert (Cq : closed (geo V u) (V q)).
        { pose proof (Ccw u Hu) as HC. unfold ccw, geo in HC. unfold closed, geo. destruct Hq as [-> | [-> | ->]]; unfold left in *; lra. }
        unfold open, closed, geo in *. rewrite !left_mid. destruct Oz as (O1 & O2 & O3), Cq as (C1 & C2 & C3). repeat split; nra.
      - rewrite Ft_mid, (Ft_corner V W T) by (auto; exact Ccw). rewrite left_mid. fold v w. subst c. field. exact Nz. }
    destruct (Rtotal_order v 0) as [S|[S|S]]; [exists (mid z (V k) (v / (v - left (W i) (W j) (W k)))); apply (Towards k _ Uk); [nra|reflexivity]|exists z; auto|exists (mid z (V l) (v / (v - left (W i) (W j) (W l)))); apply (Towards l _ Ul); [nra|reflexivity]]. }
  destruct Ex as (p & Op & Zp). apply (Off p Op). apply (Cut_ p (open_in V T d M u p Hu Op)).
  assert (Cl : closed (geo V u) p) by (destruct Op as (O1 & O2 & O3); unfold closed, geo; lra). rewrite (F_at u p Hu Cl). now apply On.
Qed.
End NoCut.
