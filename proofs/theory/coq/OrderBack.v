(* Where the fold map is unique, a layer order of one folded paper is one of any other: its place and its side do not
   matter. *)
Require Import Reals List Bool Lra Psatz Arith.
Require Import Statement Document Cross Cover Paste Layers FoldMap Cut Top Unique Closure Inside FoldMapUnique NoCut.
Import ListNotations.
Open Scope R_scope.
Section Back.
Variables (d : doc) (F G : pt -> pt) (g c s tx ty : R) (above : pt -> pt -> Prop) (N : list line) (Z : list pt).
Hypotheses (Hg : g = 1 \/ g = -1) (Hn : c * c + s * s = 1) (E : forall p, sheet d p -> G p = rig g c s tx ty (F p)).
Hypothesis LO : layer_order_with d G above N Z.
Notation rg := (rig g c s tx ty).
Lemma lines_back : forall L, (forall l, In l L -> proper l) -> exists L', (forall l, In l L' -> proper l) /\ forall p,
  off L' p <-> off L (rg p).
Proof.
  induction L as [|l L IH]; intro P; [exists []; split; [intros l []|intro p; split; intros _ l []]|].
  destruct IH as (L' & P' & O); [intros; apply P; now right|].
  destruct (line_back l g c s tx ty Hg Hn (P l (or_introl eq_refl))) as (l' & Pl & On). exists (l' :: L').
  split; [intros x [<-|I]; auto|]. intro p. unfold off in *. split; intros H x [<-|I].
  - rewrite <- On. apply H. now left.
  - apply (proj1 (O p)); auto. intros y Iy. apply H. now right.
  - rewrite On. apply H. now left.
  - apply (proj2 (O p)); auto. intros y Iy. apply H. now right.
Qed.
Lemma places_back : forall L, exists L', forall p, In (rg p) L -> In p L'.
Proof.
  induction L as [|z L (L' & H)]; [exists []; intros p []|]. destruct (rig_onto g c s tx ty Hg Hn z) as (z' & Ez).
  exists (z' :: L'). intros p [Q|I]; [left|right; auto].
  apply (rig_inj g c s tx ty _ _ Hg Hn). congruence.
Qed.
Lemma meet_G : forall x y, meet d F x y -> meet d G x y.
Proof. intros x y (Sx & Sy & D & Q). repeat split; auto. now rewrite (E x Sx), (E y Sy), Q. Qed.
Lemma meet_sym : forall H x y, meet d H x y -> meet d H y x.
Proof. intros H x y (Sx & Sy & D & Q). repeat split; auto. Qed.
Definition turned x y := if Req_EM_T g 1 then above x y else above y x.
Lemma shows_G : forall h x, inside d x -> shows F h x -> shows G (g * h) x.
Proof.
  intros h x (e1 & P1 & In_) (e2 & P2 & a & b & ux & uy & Q & H). exists (Rmin e1 e2). split; [now apply Rmin_glb_lt|].
  exists (c * a - g * s * b), (s * a + g * c * b), (tx + c * ux - g * s * uy), (ty + s * ux + g * c * uy).
  assert (Gg : g * g = 1) by (destruct Hg as [-> | ->]; ring). split.
  - transitivity ((c * c + s * s) * (a * a) + (g * g) * (c * c + s * s) * (b * b)); [ring|rewrite Hn, Gg; lra].
  - intros q Bq. unfold ball in Bq.
    rewrite E, H; [|unfold ball; eapply Rlt_le_trans; [exact Bq|apply Rmin_r]|apply In_; unfold ball;
      eapply Rlt_le_trans; [exact Bq|apply Rmin_l]].
    unfold rig; cbn [fst snd]. f_equal.
    + transitivity (tx + c * ux - g * s * uy + (c * a - g * s * b) * fst q - (g * h * s * a + (g * g) * h * c * b) * snd
        q); [rewrite Gg; ring|ring].
    + transitivity (ty + s * ux + g * c * uy + (s * a + g * c * b) * fst q + (g * h * c * a - (g * g) * h * s * b) * snd
        q); [rewrite Gg; ring|ring].
Qed.
Theorem order_back : layer_order d F turned.
Proof.
  destruct (lines_back N (lo_N d G above N Z LO)) as (N' & PN & ON). destruct (places_back Z) as (Z' & OZ).
  exists N', Z'.
  assert (O : forall x, sheet d x -> off N' (F x) -> off N (G x)) by (intros x Sx H; rewrite (E x Sx); now apply ON).
  assert (NZ : forall x, sheet d x -> ~ In (F x) Z' -> ~ In (G x) Z) by (intros x Sx H I; apply H, OZ;
    now rewrite <- (E x Sx)).
  assert (Sh : forall x y, meet d F x y -> sheet d x /\ sheet d y /\ F x = F y) by (intros x y (A & B & _ & Q); auto).
  assert (In_s : forall x, inside d x -> sheet d x) by (intros x H; exact (Cut.inside_sheet d x H)).
  assert (Opp : forall x y, meet d F x y -> off N' (F x) -> (above y x <-> ~ above x y)).
  { intros x y M H. destruct (Sh x y M) as (Sx & _). pose proof (lo_A d G above N Z LO x y (meet_G x y M) (O x Sx H)).
    tauto. }
  assert (Tu : (g = 1 /\ forall x y, turned x y <-> above x y) \/ (g = -1 /\ forall x y, turned x y <-> above y x)).
  { unfold turned.
    destruct (Req_EM_T g 1) as [Q|Q]; [left; split; [exact Q|reflexivity]|right; split;
      [destruct Hg; [contradiction|assumption]|reflexivity]]. }
  assert (Iff : forall A B A' B' : Prop, (A' <-> ~ A) -> (B' <-> ~ B) -> (A <-> B) -> (A' <-> B')) by tauto.
  constructor.
  - exact PN.
  - intros x y M H. destruct (Sh x y M) as (Sx & _).
    pose proof (lo_A d G above N Z LO x y (meet_G x y M) (O x Sx H)) as A.
    destruct Tu as [[_ Tu]|[_ Tu]]; rewrite !Tu; tauto.
  - intros x y z M1 M2 M3 H A B. destruct (Sh x y M1) as (Sx & _). destruct (Sh x z M3) as (_ & Sz & Q).
    destruct Tu as [[_ Tu]|[_ Tu]]; rewrite Tu in *.
    + exact (lo_T d G above N Z LO x y z (meet_G _ _ M1) (meet_G _ _ M2) (meet_G _ _ M3) (O x Sx H) A B).
    + refine (lo_T d G above N Z LO z y x (meet_G _ _ (meet_sym F _ _ M2)) (meet_G _ _ (meet_sym F _ _ M1))
        (meet_G _ _ (meet_sym F _ _ M3)) (O z Sz _) B A).
      now rewrite <- Q.
  - intros u v M Pu Pv Hz. destruct (Sh u v M) as (Su & _).
    destruct (lo_C d G above N Z LO u v (meet_G u v M) Pu Pv (NZ u Su Hz)) as (e & He & C). exists e.
    split; [exact He|]. intros x y x' y' B1 B2 M1 O1 B3 B4 M2 O2.
    destruct (Sh x y M1) as (Sx & _), (Sh x' y' M2) as (Sx' & _).
    pose proof (C x y x' y' B1 B2 (meet_G _ _ M1) (O x Sx O1) B3 B4 (meet_G _ _ M2) (O x' Sx' O2)) as K.
    destruct Tu as [[_ Tu]|[_ Tu]]; rewrite !Tu; [exact K|].
    exact (Iff _ _ _ _ (Opp x y M1 O1) (Opp x' y' M2 O2) K).
  - intros k u Cr Hz. pose proof Cr as ((e1 & P1 & In_) & _).
    destruct (lo_M d G above N Z LO k u Cr (NZ u (In_s u (proj1 Cr)) Hz)) as (e & He & C). exists (Rmin e e1).
    split; [now apply Rmin_glb_lt|]. intros x y B1 B2 M1 O1 S1 S2. unfold ball in B1, B2.
    assert (L1 : Rmin e e1 <= e) by apply Rmin_l. assert (L2 : Rmin e e1 <= e1) by apply Rmin_r.
    assert (Ix : inside d x).
    { exists (e1 - dist u x). split; [lra|]. intros q Bq. apply In_. unfold ball in *. pose proof (dist_tri u x q). lra.
        }
    assert (Iy : inside d y).
    { exists (e1 - dist u y). split; [lra|]. intros q Bq. apply In_. unfold ball in *. pose proof (dist_tri u y q). lra.
        }
    pose proof (shows_G 1 x Ix S1) as T1. pose proof (shows_G (-1) y Iy S2) as T2.
    destruct (Sh x y M1) as (Sx & Sy & Q). destruct Tu as [[Gm Tu]|[Gm Tu]]; rewrite !Tu; rewrite Gm in T1, T2.
    + replace (1 * 1) with 1 in T1 by ring. replace (1 * -1) with (-1) in T2 by ring.
      apply C; auto; [unfold ball; lra|unfold ball; lra|now apply meet_G].
    + replace (-1 * 1) with (-1) in T1 by ring. replace (-1 * -1) with 1 in T2 by ring.
      apply (C y x); auto; [unfold ball; lra|unfold ball; lra|now apply meet_G, meet_sym|]. apply (O y Sy).
      now rewrite <- Q.
  - intros k u v M Cu Pv Hz. destruct (Sh u v M) as (Su & _).
    destruct (lo_J d G above N Z LO k u v (meet_G u v M) Cu Pv (NZ u Su Hz)) as (e & He & C). exists e.
    split; [exact He|]. intros x y z B1 B2 B3 M1 M2 M3 O1.
    destruct (Sh x y M1) as (Sx & Sy & Q). assert (O2 : off N' (F y)) by now rewrite <- Q.
    pose proof (C x y z B1 B2 B3 (meet_G _ _ M1) (meet_G _ _ M2) (meet_G _ _ M3) (O x Sx O1)) as K.
    destruct Tu as [[_ Tu]|[_ Tu]]; rewrite !Tu; [exact K|].
    exact (Iff _ _ _ _ (Opp x z M2 O1) (Opp y z M3 O2) K).
  - intros k k' u v M Cu Cv Hz. destruct (Sh u v M) as (Su & _).
    destruct (lo_JJ d G above N Z LO k k' u v (meet_G u v M) Cu Cv (NZ u Su Hz)) as (e & He & C). exists e.
    split; [exact He|]. intros x y z w B1 B2 B3 B4 M1 M2 M3 M4 M5 M6 O1.
    destruct (Sh x y M1) as (Sx & Sy & Q). assert (O2 : off N' (F y)) by now rewrite <- Q.
    pose proof (C x y z w B1 B2 B3 B4 (meet_G _ _ M1) (meet_G _ _ M2) (meet_G _ _ M3) (meet_G _ _ M4) (meet_G _ _ M5)
      (meet_G _ _ M6) (O x Sx O1)) as K.
    destruct Tu as [[_ Tu]|[_ Tu]]; rewrite !Tu; [exact K|].
    rewrite (Opp x z M3 O1), (Opp y z M5 O2), (Opp x w M4 O1), (Opp y w M6 O2).
    pose proof (lo_A d G above N Z LO x z (meet_G _ _ M3) (O x Sx O1)) as D1.
    pose proof (lo_A d G above N Z LO y z (meet_G _ _ M5) (O y Sy O2)) as D2.
    pose proof (lo_A d G above N Z LO x w (meet_G _ _ M4) (O x Sx O1)) as D3.
    pose proof (lo_A d G above N Z LO y w (meet_G _ _ M6) (O y Sy O2)) as D4.
    assert (Not : forall A B C D : Prop, (A \/ B) /\ ~ (A /\ B) -> (C \/ D) /\ ~ (C /\ D) ->
      ((~ A <-> ~ C) <-> (A <-> C))) by (clear; intros A B C D H1 H2; destruct H1 as [[a|a] n1], H2 as [[c|c] n2];
      tauto).
    rewrite (Not _ _ _ _ D1 D2), (Not _ _ _ _ D3 D4). exact K.
Qed.
End Back.
