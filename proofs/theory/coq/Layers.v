(* From the finite conditions on pairs of triangles to the layer order at every point (off finitely many places). *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover Paste.
Import ListNotations.
Open Scope R_scope.

Lemma colin : forall k l i j q, left k l i = 0 -> left k l j = 0 ->
  ((fst l - fst k) * (fst l - fst k) + (snd l - snd k) * (snd l - snd k)) * left i j q
  = ((fst j - fst i) * (fst l - fst k) + (snd j - snd i) * (snd l - snd k)) * left k l q.
Proof.
  intros k l i j q A B. unfold left in *.
  set (ux := fst l - fst k) in *. set (uy := snd l - snd k) in *.
  set (ax := fst i - fst k) in *. set (ay := snd i - snd k) in *. set (bx := fst j - fst k) in *.
  set (by_ := snd j - snd k) in *.
  set (qx := fst q - fst k) in *. set (qy := snd q - snd k) in *.
  replace (fst j - fst i) with (bx - ax) by (unfold ax, bx; ring).
  replace (snd j - snd i) with (by_ - ay) by (unfold ay, by_; ring).
  replace (snd q - snd i) with (qy - ay) by (unfold ay, qy; ring).
  replace (fst q - fst i) with (qx - ax) by (unfold ax, qx; ring).
  clearbody ux uy ax ay bx by_ qx qy.
  assert (E : (ux*ux + uy*uy) * ((bx-ax)*(qy-ay) - (by_-ay)*(qx-ax)) - ((bx-ax)*ux + (by_-ay)*uy) * (ux*qy - uy*qx)
     = (ux * by_ - uy * bx) * (- ux * (qx - ax) - uy * (qy - ay)) + (ux * ay - uy * ax) *
       (ux * (qx - bx) + uy * (qy - by_)) + 0) by ring.
  rewrite A, B in E. lra.
Qed.
Lemma tr_dec : forall t u : tr, {t = u} + {t <> u}.
Proof. repeat decide equality. Defined.
Lemma left_ends : forall a b l, left a b (mid a b l) = 0. Proof. intros. rewrite left_mid. unfold left. ring. Qed.

Section Layers.
Variables (V W : nat -> pt) (T : list tr) (d : doc).
Notation geo := (geo V). Notation Ft := (Ft V W). Notation F := (F V W T).
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis Hcongr : forall t, In t T -> congr V W t.
Hypothesis P1 : forall t u q, In t T -> In u T -> open (geo t) q -> closed (geo u) q -> t = u.
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis P3 : forall t u i, In t T -> In u T -> corner t i -> closed (geo u) (V i) -> corner u i.
Hypothesis Hne : forall t, In t T -> ci t <> cj t /\ cj t <> ck t /\ ck t <> ci t.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.

Definition inner t t' i j := In t T /\ In t' T /\ t <> t' /\ i <> j /\ corner t i /\ corner t j /\ corner t' i /\
  corner t' j.
(* the two sides of an edge *)
Hypothesis Hopp : forall t t' i j x x', inner t t' i j -> open (geo t) x -> open (geo t') x' ->
  left (V i) (V j) x * left (V i) (V j) x' < 0.
Hypothesis Hsame : forall t i j x x', In t T -> i <> j -> corner t i -> corner t j -> open (geo t) x ->
  open (geo t) x' -> 0 < left (V i) (V j) x * left (V i) (V j) x'.
Hypothesis Hflat : forall t t' i j l, inner t t' i j -> 0 < l < 1 -> ~ on_fold d (mid (V i) (V j) l) -> tu t = tu t'.
Hypothesis Hinner : forall s k l m, In s T -> k <> l -> corner s k -> corner s l -> 0 < m < 1 ->
  inside d (mid (V k) (V l) m) -> exists s', inner s s' k l.

(* what is excepted: lines of edges' images; places of vertices and where two such lines cross *)
Variables (N : list line) (Z : list pt).
Hypothesis HN1 : forall l, In l N -> proper l.
Hypothesis HN : forall t i j p, In t T -> corner t i -> corner t j -> i <> j -> off N p -> left (W i) (W j) p <> 0.
Hypothesis HZ1 : forall t i, In t T -> corner t i -> In (W i) Z.
Hypothesis HZ2 : forall t s i j k l p, In t T -> In s T -> corner t i -> corner t j -> corner s k -> corner s l ->
  i <> j -> k <> l ->
   left (W i) (W j) p = 0 -> left (W k) (W l) p = 0 -> ~ In p Z -> left (W k) (W l) (W i) = 0 /\
     left (W k) (W l) (W j) = 0.
Hypothesis HW : forall t i j, In t T -> corner t i -> corner t j -> i <> j ->
  0 < (fst (W j) - fst (W i)) * (fst (W j) - fst (W i)) + (snd (W j) - snd (W i)) * (snd (W j) - snd (W i)).

(* ---- the finite conditions: gt t s, "t is above s", for triangles whose open images meet ---- *)
Variable gt : tr -> tr -> Prop.
Definition over t s := exists x y, open (geo t) x /\ open (geo s) y /\ Ft t x = Ft s y.
Definition cross t s i j := exists m y, 0 < m < 1 /\ open (geo s) y /\ Ft t (mid (V i) (V j) m) = Ft s y.
(* open edge, open triangle *)
Definition touch t s i j k l := exists m n, 0 < m < 1 /\ 0 < n < 1 /\ Ft t (mid (V i) (V j) m) = Ft s
  (mid (V k) (V l) n) /\
   left (W k) (W l) (W i) = 0 /\ left (W k) (W l) (W j) = 0. (* images on one line share a stretch *)
Hypothesis G0 : forall t s, In t T -> In s T -> t <> s -> over t s -> (gt t s \/ gt s t) /\ ~ (gt t s /\ gt s t).
Hypothesis G6 : forall t s w x y z, In t T -> In s T -> In w T -> t <> s -> s <> w -> t <> w -> open (geo t) x ->
  open (geo s) y -> open (geo w) z ->
   Ft t x = Ft s y -> Ft s y = Ft w z -> gt t s -> gt s w -> gt t w.
Hypothesis G45 : forall t t' s i j, inner t t' i j -> In s T -> cross t s i j ->
  (gt t s <-> gt t' s) /\ (gt s t <-> gt s t').
Hypothesis G3 : forall t t' s s' i j k l, inner t t' i j -> inner s s' k l -> tu t = tu t' -> tu s = tu s' ->
  touch t s i j k l -> over t s -> over t' s' -> (gt t s <-> gt t' s').
Hypothesis G2 : forall t t' s s' i j k l, inner t t' i j -> inner s s' k l -> tu s = tu s' -> touch t s i j k l ->
  over t s -> over t' s -> (gt t s <-> gt t' s).
Hypothesis G1 : forall t t' s s' i j k l, inner t t' i j -> inner s s' k l -> t <> s -> t <> s' -> t' <> s ->
  t' <> s' -> touch t s i j k l -> over t s -> over t s' -> over t' s -> over t' s' ->
   ((gt t s <-> gt t' s) <-> (gt t s' <-> gt t' s')).
Hypothesis GM : forall t t' i j l k, inner t t' i j -> 0 < l < 1 -> crease d k (mid (V i) (V j) l) -> tu t = false ->
  tu t' = true ->
   (k = Mountain -> gt t t') /\ (k = Valley -> gt t' t).

Definition above (x y : pt) := exists t s, In t T /\ In s T /\ open (geo t) x /\ open (geo s) y /\ gt t s.

Lemma open_closed : forall t p, open (geo t) p -> closed (geo t) p.
Proof. intros t p (A & B & C). unfold closed; simpl. lra. Qed.
Lemma Fon : forall t p, In t T -> closed (geo t) p -> F p = Ft t p.
Proof. intros. apply F_on; auto. Qed.
Lemma off_open : forall t p, In t T -> closed (geo t) p -> off N (Ft t p) -> open (geo t) p.
Proof.
  intros t p Ht (A & B & C) O. destruct (Hne t Ht) as (N1 & N2 & N3).
  assert (X : forall i j, corner t i -> corner t j -> i <> j -> left (V i) (V j) p <> 0).
  { intros i j Hi Hj D E. apply (HN t i j (Ft t p)); auto. rewrite (side V W T) by auto. rewrite E; ring. }
  pose proof (X (ci t) (cj t)). pose proof (X (cj t) (ck t)). pose proof (X (ck t) (ci t)). unfold corner in *. simpl.
  unfold open; simpl. assert (left (V (ci t)) (V (cj t)) p <> 0) by auto.
  assert (left (V (cj t)) (V (ck t)) p <> 0) by auto. assert (left (V (ck t)) (V (ci t)) p <> 0) by auto. lra.
Qed.
Lemma above_iff : forall t s x y, In t T -> In s T -> open (geo t) x -> open (geo s) y -> (above x y <-> gt t s).
Proof.
  intros t s x y Ht Hs Ox Oy. split.
  - intros (t' & s' & Ht' & Hs' & Ox' & Oy' & G). rewrite (P1 t t' x), (P1 s s' y); auto; now apply open_closed.
  - intro G. exists t, s. auto.
Qed.
(* a point of the sheet, off N, is inside one triangle *)
Lemma place : forall x, sheet d x -> off N (F x) -> exists t, In t T /\ open (geo t) x /\ F x = Ft t x.
Proof.
  intros x Hx O. apply Hcover in Hx. destruct Hx as (t & Ht & Hc). exists t. pose proof (Fon t x Ht Hc) as E.
  split; [auto|split; [|auto]].
  apply off_open; auto. now rewrite <- E.
Qed.
Lemma meet_over : forall x y t s, meet d F x y -> In t T -> In s T -> open (geo t) x -> open (geo s) y ->
  t <> s /\ over t s /\ Ft t x = Ft s y.
Proof.
  intros x y t s (Sx & Sy & D & E) Ht Hs Ox Oy. rewrite (Fon t x), (Fon s y) in E by (auto using open_closed).
  split; [|split; [exists x, y; auto|auto]].
  intros ->. apply D. eapply Ft_inj; eauto.
Qed.

Theorem A : forall x y, meet d F x y -> off N (F x) -> (above x y \/ above y x) /\ ~ (above x y /\ above y x).
Proof.
  intros x y M O. pose proof M as (Sx & Sy & D & E). destruct (place x Sx O) as (t & Ht & Ox & _). rewrite E in O.
  destruct (place y Sy O) as (s & Hs & Oy & _).
  destruct (meet_over x y t s M Ht Hs Ox Oy) as (Dts & Ov & _).
  rewrite (above_iff t s x y), (above_iff s t y x) by auto. auto.
Qed.
Theorem Tr_ : forall x y z, meet d F x y -> meet d F y z -> meet d F x z -> off N (F x) -> above x y -> above y z ->
  above x z.
Proof.
  intros x y z M1 M2 M3 O A1 A2. pose proof M1 as (Sx & Sy & D1 & E1). pose proof M2 as (_ & Sz & D2 & E2).
  destruct (place x Sx O) as (t & Ht & Ox & _). pose proof O as O'. rewrite E1 in O'.
  destruct (place y Sy O') as (s & Hs & Oy & _). rewrite E2 in O'. destruct (place z Sz O') as (w & Hw & Oz & _).
  destruct (meet_over x y t s) as (D & _ & F1); auto. destruct (meet_over y z s w) as (D' & _ & F2); auto.
  destruct (meet_over x z t w) as (D'' & _ & _); auto.
  rewrite (above_iff t s x y) in A1 by auto. rewrite (above_iff s w y z) in A2 by auto.
  rewrite (above_iff t w x z) by auto. apply (G6 t s w x y z); auto.
Qed.

(* near u: which triangles *)
Lemma two : forall u t t', In t T -> In t' T -> closed (geo t) u -> closed (geo t') u -> ~ In (F u) Z -> t <> t' ->
  exists i j m, inner t t' i j /\ 0 < m < 1 /\ u = mid (V i) (V j) m.
Proof.
  intros u t t' Ht Ht' C C' NZ D.
  destruct (share V T Hccw P1 P2 P3 Hne t u Ht C) as [[_ X]|[(i & Hi & ->
    & _)|(i & j & m & Hi & Hj & Dij & Hm & E & X)]].
  - exfalso. apply D. symmetry. auto.
  - exfalso. apply NZ. rewrite (Fon t) by auto. rewrite (Ft_corner V W T) by auto. eauto.
  - exists i, j, m. destruct (X t' Ht' C'). unfold inner. auto 12.
Qed.
Lemma one : forall u t, In t T -> closed (geo t) u -> ~ In (F u) Z ->
  open (geo t) u \/ exists i j m, corner t i /\ corner t j /\ i <> j /\ 0 < m < 1 /\ u = mid (V i) (V j) m.
Proof.
  intros u t Ht C NZ.
  destruct (share V T Hccw P1 P2 P3 Hne t u Ht C) as [[O _]|[(i & Hi & ->
    & _)|(i & j & m & Hi & Hj & Dij & Hm & E & X)]]; auto.
  - exfalso. apply NZ. rewrite (Fon t) by auto. rewrite (Ft_corner V W T) by auto. eauto.
  - right. exists i, j, m. auto.
Qed.
Lemma touching : forall u v t s i j k l m n, In t T -> In s T -> corner t i -> corner t j -> i <> j -> corner s k ->
  corner s l -> k <> l -> 0 < m < 1 -> 0 < n < 1 ->
  closed (geo t) u -> closed (geo s) v -> u = mid (V i) (V j) m -> v = mid (V k) (V l) n -> F u = F v -> ~ In (F u) Z ->
    touch t s i j k l.
Proof.
  intros u v t s i j k l m n Ht Hs Hi Hj Dij Hk Hl Dkl Hm Hn Cu Cv Eu Ev E NZ.
  rewrite (Fon t u), (Fon s v) in E by auto. rewrite (Fon t u) in NZ by auto.
  exists m, n. split; [auto|split; [auto|]]. rewrite <- Eu, <- Ev. split; [auto|].
  apply (HZ2 t s i j k l (Ft t u)); auto.
  - rewrite (side V W T) by auto. rewrite Eu, left_ends. ring.
  - rewrite E, (side V W T) by auto. rewrite Ev, left_ends. ring.
Qed.
(* a flat edge over an edge of s: s lies on one side, so it can't meet both triangles of the flat edge *)
Lemma one_side : forall t t' s i j k l, inner t t' i j -> tu t = tu t' -> In s T -> corner s k -> corner s l ->
  k <> l -> touch t s i j k l -> over t s -> over t' s -> False.
Proof.
  intros t t' s i j k l I Ht Hs Hk Hl Dkl (_ & _ & _ & _ & _ & L1 & L2) (x & y & Ox & Oy & E)
    (x' & y' & Ox' & Oy' & E').
  pose proof (Hopp t t' i j x x' I Ox Ox') as Op. pose proof (Hsame s k l y y' Hs Dkl Hk Hl Oy Oy') as Sm.
  destruct I as (It & It' & _ & _ & Hi & Hj & Hi' & Hj').
  pose proof (colin (W k) (W l) (W i) (W j) (Ft t x) L1 L2) as K1.
  pose proof (colin (W k) (W l) (W i) (W j) (Ft t' x') L1 L2) as K2.
  rewrite (side V W T Hccw Hcongr t i j x It Hi Hj), E, (side V W T Hccw Hcongr s k l y Hs Hk Hl) in K1.
  rewrite (side V W T Hccw Hcongr t' i j x' It' Hi' Hj'), E', (side V W T Hccw Hcongr s k l y' Hs Hk Hl) in K2.
  pose proof (HW s k l Hs Hk Hl Dkl) as Pn. set (n := _ + _) in Pn, K1, K2. set (kap := _ + _) in K1, K2.
  assert (SG : sg t' = sg t) by (unfold sg; now rewrite Ht). rewrite SG in K2.
  set (a := left (V i) (V j) x) in *. set (a' := left (V i) (V j) x') in *. set (b := left (V k) (V l) y) in *.
  set (b' := left (V k) (V l) y') in *.
  assert (P : (n * (sg t * a)) * (n * (sg t * a')) = (kap * (sg s * b)) * (kap * (sg s * b'))) by (rewrite K1, K2;
    ring).
  assert (Q1 : sg t * sg t = 1) by (destruct (sg_cases t) as [-> | ->]; ring).
  assert (Q2 : sg s * sg s = 1) by (destruct (sg_cases s) as [-> | ->]; ring).
  replace ((n * (sg t * a)) * (n * (sg t * a'))) with ((n * n) * (sg t * sg t) * (a * a')) in P by ring.
  replace ((kap * (sg s * b)) * (kap * (sg s * b'))) with ((kap * kap) * (sg s * sg s) * (b * b')) in P by ring.
  rewrite Q1, Q2 in P. clearbody n kap a a' b b'. assert (0 < n * n) by nra. assert (0 <= kap * kap) by nra. nra.
Qed.

Lemma move_one : forall u v t t' s, In t T -> In t' T -> In s T -> t <> t' -> closed (geo t) u -> closed (geo t') u ->
  closed (geo s) v -> F u = F v -> ~ In (F u) Z ->
  ~ on_fold d u -> over t s -> over t' s -> (gt t s <-> gt t' s) /\ (gt s t <-> gt s t').
Proof.
  intros u v t t' s Ht Ht' Hs D C C' Cv E NZ NF Ov Ov'.
  destruct (two u t t' Ht Ht' C C' NZ D) as (i & j & m & I & Hm & Eu).
  assert (Fl : tu t = tu t') by (apply (Hflat t t' i j m I Hm); now rewrite <- Eu).
  pose proof I as (_ & _ & _ & Dij & Hi & Hj & _ & _).
  rewrite E in NZ. destruct (one v s Hs Cv NZ) as [O|(k & l & n & Hk & Hl & Dkl & Hn & Ev)].
  - apply (G45 t t' s i j); auto. exists m, v. split; [auto|split; [auto|]].
    rewrite <- Eu, <- (Fon t u), <- (Fon s v); auto.
  - exfalso. rewrite <- E in NZ. apply (one_side t t' s i j k l); auto. apply (touching u v t s i j k l m n); auto.
Qed.
Lemma over_sym : forall t s, over t s -> over s t. Proof. intros t s (x & y & A1 & B & C). exists y, x. auto. Qed.
Definition gather u e := 0 < e /\ forall q t, ball u e q -> In t T -> closed (geo t) q -> closed (geo t) u.
Lemma gather2 : forall u v, exists e, gather u e /\ gather v e.
Proof.
  intros u v. destruct (near V T u) as (e & He & Hn). destruct (near V T v) as (e' & He' & Hn'). exists (Rmin e e').
  assert (0 < Rmin e e') by (now apply Rmin_glb_lt). unfold gather, ball in *.
  split; (split; [auto|]); intros q t Hq Ht Hc; [eapply Hn|eapply Hn']; eauto; eapply Rlt_le_trans; eauto;
    [apply Rmin_l|apply Rmin_r].
Qed.

Theorem C_ : forall u v, meet d F u v -> plain d u -> plain d v -> ~ In (F u) Z -> exists eps, 0 < eps /\
     forall x y x' y', ball u eps x -> ball v eps y -> meet d F x y -> off N (F x) ->
                       ball u eps x' -> ball v eps y' -> meet d F x' y' -> off N (F x') -> (above x y <-> above x' y').
Proof.
  intros u v (_ & _ & _ & Euv) (_ & Fu) (_ & Fv) NZ. destruct (gather2 u v) as (e & (He & Gu) & (_ & Gv)). exists e.
  split; [auto|].
  intros x y x' y' Bx By M O Bx' By' M' O'. pose proof M as (Sx & Sy & _ & E). pose proof M' as (Sx' & Sy' & _ & E').
  destruct (place x Sx O) as (t & Ht & Ox & _). destruct (place x' Sx' O') as (t' & Ht' & Ox' & _).
  rewrite E in O. rewrite E' in O'. destruct (place y Sy O) as (s & Hs & Oy & _).
  destruct (place y' Sy' O') as (s' & Hs' & Oy' & _).
  destruct (meet_over x y t s) as (_ & Ov & _); auto. destruct (meet_over x' y' t' s') as (_ & Ov' & _); auto.
  rewrite (above_iff t s x y), (above_iff t' s' x' y') by auto.
  assert (C1 : closed (geo t) u) by (exact (Gu x t Bx Ht (open_closed t x Ox))).
  assert (C2 : closed (geo t') u) by (exact (Gu x' t' Bx' Ht' (open_closed t' x' Ox'))).
  assert (C3 : closed (geo s) v) by (exact (Gv y s By Hs (open_closed s y Oy))).
  assert (C4 : closed (geo s') v) by (exact (Gv y' s' By' Hs' (open_closed s' y' Oy'))).
  destruct (tr_dec t t') as [->|D], (tr_dec s s') as [->|D']; try tauto.
  - apply (move_one v u s s' t'); auto using over_sym; now rewrite <- Euv.
  - apply (move_one u v t t' s'); auto.
  - destruct (two u t t' Ht Ht' C1 C2 NZ D) as (i & j & m & I & Hm & Eu). rewrite Euv in NZ.
    destruct (two v s s' Hs Hs' C3 C4 NZ D') as (k & l & n & I' & Hn & Ev).
    pose proof I as (_ & _ & _ & Dij & Hi & Hj & _ & _). pose proof I' as (_ & _ & _ & Dkl & Hk & Hl & _ & _).
    apply (G3 t t' s s' i j k l); auto.
    + apply (Hflat t t' i j m I Hm). now rewrite <- Eu.
    + apply (Hflat s s' k l n I' Hn). now rewrite <- Ev.
    + rewrite <- Euv in NZ. apply (touching u v t s i j k l m n); auto.
Qed.
Theorem J_ : forall k u v, meet d F u v -> crease d k u -> plain d v -> ~ In (F u) Z -> exists eps, 0 < eps /\
     forall x y z, ball u eps x -> ball u eps y -> ball v eps z -> meet d F x y -> meet d F x z -> meet d F y z ->
       off N (F x) ->
                 (above x z <-> above y z).
Proof.
  intros kk u v (_ & _ & _ & Euv) _ (Iv & Fv) NZ. destruct (gather2 u v) as (e & (He & Gu) & (_ & Gv)). exists e.
  split; [auto|].
  intros x y z Bx By Bz M1 M2 M3 O. pose proof M1 as (Sx & Sy & _ & E). pose proof M2 as (_ & Sz & _ & E').
  destruct (place x Sx O) as (t & Ht & Ox & _). pose proof O as O1. rewrite E in O1. rewrite E' in O.
  destruct (place y Sy O1) as (t' & Ht' & Ox' & _). destruct (place z Sz O) as (s & Hs & Oz & _).
  destruct (meet_over x y t t') as (D & _ & _); auto. destruct (meet_over x z t s) as (_ & Ov & _); auto.
  destruct (meet_over y z t' s) as (_ & Ov' & _); auto.
  rewrite (above_iff t s x z), (above_iff t' s y z) by auto.
  assert (C1 : closed (geo t) u) by (exact (Gu x t Bx Ht (open_closed t x Ox))).
  assert (C2 : closed (geo t') u) by (exact (Gu y t' By Ht' (open_closed t' y Ox'))).
  assert (C3 : closed (geo s) v) by (exact (Gv z s Bz Hs (open_closed s z Oz))).
  destruct (two u t t' Ht Ht' C1 C2 NZ D) as (i & j & m & I & Hm & Eu).
  pose proof I as (_ & _ & _ & Dij & Hi & Hj & _ & _).
  rewrite Euv in NZ. destruct (one v s Hs C3 NZ) as [Ov2|(k & l & n & Hk & Hl & Dkl & Hn & Ev)].
  - apply (G45 t t' s i j); auto. exists m, v. split; [auto|split; [auto|]].
    rewrite <- Eu, <- (Fon t u), <- (Fon s v); auto.
  - destruct (Hinner s k l n Hs Dkl Hk Hl Hn) as (s' & I'); [now rewrite <- Ev|]. apply (G2 t t' s s' i j k l); auto.
    + apply (Hflat s s' k l n I' Hn). now rewrite <- Ev.
    + rewrite <- Euv in NZ. apply (touching u v t s i j k l m n); auto.
Qed.
Theorem JJ_ : forall k k' u v, meet d F u v -> crease d k u -> crease d k' v -> ~ In (F u) Z -> exists eps, 0 < eps /\
     forall x y z w, ball u eps x -> ball u eps y -> ball v eps z -> ball v eps w ->
        meet d F x y -> meet d F z w -> meet d F x z -> meet d F x w -> meet d F y z -> meet d F y w -> off N (F x) ->
        ((above x z <-> above y z) <-> (above x w <-> above y w)).
Proof.
  intros kk kk' u v (_ & _ & _ & Euv) _ _ NZ. destruct (gather2 u v) as (e & (He & Gu) & (_ & Gv)). exists e.
  split; [auto|].
  intros x y z w Bx By Bz Bw M1 M2 M3 M4 M5 M6 O. pose proof M1 as (Sx & Sy & _ & E1).
  pose proof M2 as (Sz & Sw & _ & _). pose proof M3 as (_ & _ & _ & E3). pose proof M4 as (_ & _ & _ & E4).
  destruct (place x Sx O) as (t & Ht & Ox & _). destruct (place y Sy) as (t' & Ht' & Oy & _); [now rewrite <- E1|].
  destruct (place z Sz) as (s & Hs & Oz & _); [now rewrite <- E3|].
  destruct (place w Sw) as (s' & Hs' & Ow & _); [now rewrite <- E4|].
  destruct (meet_over x y t t') as (D & _ & _); auto. destruct (meet_over z w s s') as (D' & _ & _); auto.
  destruct (meet_over x z t s) as (D1 & V1 & _); auto. destruct (meet_over x w t s') as (D2 & V2 & _); auto.
  destruct (meet_over y z t' s) as (D3 & V3 & _); auto. destruct (meet_over y w t' s') as (D4 & V4 & _); auto.
  rewrite (above_iff t s x z), (above_iff t' s y z), (above_iff t s' x w), (above_iff t' s' y w) by auto.
  assert (C1 : closed (geo t) u) by (exact (Gu x t Bx Ht (open_closed t x Ox))).
  assert (C2 : closed (geo t') u) by (exact (Gu y t' By Ht' (open_closed t' y Oy))).
  assert (C3 : closed (geo s) v) by (exact (Gv z s Bz Hs (open_closed s z Oz))).
  assert (C4 : closed (geo s') v) by (exact (Gv w s' Bw Hs' (open_closed s' w Ow))).
  destruct (two u t t' Ht Ht' C1 C2 NZ D) as (i & j & m & I & Hm & Eu). rewrite Euv in NZ.
  destruct (two v s s' Hs Hs' C3 C4 NZ D') as (k & l & n & I' & Hn & Ev).
  pose proof I as (_ & _ & _ & Dij & Hi & Hj & _ & _). pose proof I' as (_ & _ & _ & Dkl & Hk & Hl & _ & _).
  apply (G1 t t' s s' i j k l); auto. rewrite <- Euv in NZ. apply (touching u v t s i j k l m n); auto.
Qed.
Lemma open_nbhd : forall t x, open (geo t) x -> exists e, 0 < e /\ forall q, ball x e q -> open (geo t) q.
Proof.
  intros t x (A1 & B1 & C1).
  assert (X : forall a b, 0 < left a b x -> exists e, 0 < e /\ forall q, ball x e q -> 0 < left a b q).
  { intros a b Hp. destruct (neg_nbhd b a x) as (e & He & Hq); [rewrite left_swap; lra|]. exists e. split; auto.
    intros q Hb. specialize (Hq q Hb). rewrite left_swap in Hq. lra. }
  destruct (X _ _ A1) as (e1 & P1' & Q1). destruct (X _ _ B1) as (e2 & P2' & Q2).
  destruct (X _ _ C1) as (e3 & P3' & Q3).
  exists (Rmin e1 (Rmin e2 e3)). split; [repeat apply Rmin_glb_lt; auto|]. intros q Hb. unfold ball in *.
  assert (dist x q < e1) by (eapply Rlt_le_trans; [exact Hb|apply Rmin_l]).
  assert (dist x q < e2) by (eapply Rlt_le_trans; [exact Hb|eapply Rle_trans; [apply Rmin_r|apply Rmin_l]]).
  assert (dist x q < e3) by (eapply Rlt_le_trans; [exact Hb|eapply Rle_trans; [apply Rmin_r|apply Rmin_r]]).
  unfold open; simpl; auto.
Qed.
Lemma shows_sg : forall t x sigma, In t T -> open (geo t) x -> shows F sigma x -> sigma = sg t.
Proof.
  intros t x sigma Ht Ox (e & He & c & s & tx & ty & E & H). destruct (open_nbhd t x Ox) as (e' & He' & Ho).
  destruct (Ft_rigid V W T Hccw Hcongr t Ht) as (c' & s' & tx' & ty' & E' & H').
  set (h := Rmin e e' / 2). assert (Hm : 0 < Rmin e e') by (now apply Rmin_glb_lt).
  assert (Hh : 0 < h < Rmin e e') by (unfold h; lra).
  assert (K : forall q, ball x (Rmin e e') q -> (tx + c * fst q - sigma * s * snd q, ty + s * fst q + sigma * c * snd q)
    = (tx' + c' * fst q - sg t * s' * snd q, ty' + s' * fst q + sg t * c' * snd q)).
  { intros q Hb. unfold ball in Hb. rewrite <- H, <- H'; [|unfold ball; eapply Rlt_le_trans; [exact Hb|apply Rmin_l]].
    apply Fon; auto. apply open_closed, Ho. unfold ball. eapply Rlt_le_trans; [exact Hb|apply Rmin_r]. }
  assert (B0 : forall a b, Rabs a < Rmin e e' -> Rabs b < Rmin e e' -> ball x (Rmin e e') (fst x - a, snd x - b)).
  { intros a b Ha Hb. unfold ball, dist; simpl. replace (fst x - (fst x - a)) with a by ring.
    replace (snd x - (snd x - b)) with b by ring. now apply Rmax_lub_lt. }
  assert (R0 : Rabs 0 < Rmin e e') by (rewrite Rabs_R0; lra).
  assert (Rh : Rabs h < Rmin e e') by (rewrite Rabs_pos_eq; lra).
  pose proof (K _ (B0 0 0 R0 R0)) as K0. pose proof (K _ (B0 h 0 Rh R0)) as K1. pose proof (K _ (B0 0 h R0 Rh)) as K2.
  simpl in K0, K1, K2.
  injection K0 as X0 Y0. injection K1 as X1 Y1. injection K2 as X2 Y2.
  assert (h * (c - c') = 0) by lra. assert (h * (s - s') = 0) by lra.
  assert (c = c') by (apply Rmult_integral in H0; destruct H0; lra).
  assert (s = s') by (apply Rmult_integral in H1; destruct H1; lra). subst c' s'.
  assert (h * ((sigma - sg t) * s) = 0) by lra. assert (h * ((sigma - sg t) * c) = 0) by lra.
  assert (M1 : (sigma - sg t) * s = 0) by (apply Rmult_integral in H2; destruct H2; lra).
  assert (M2 : (sigma - sg t) * c = 0) by (apply Rmult_integral in H3; destruct H3; lra).
  assert ((sigma - sg t) * (c * c + s * s) = 0).
  { transitivity (((sigma - sg t) * c) * c + ((sigma - sg t) * s) * s); [ring|rewrite M1, M2; ring]. }
  rewrite E in H4. lra.
Qed.
Theorem M_ : forall k u, crease d k u -> ~ In (F u) Z -> exists eps, 0 < eps /\
     forall x y, ball u eps x -> ball u eps y -> meet d F x y -> off N (F x) -> shows F 1 x -> shows F (-1) y ->
                 (k = Mountain -> above x y) /\ (k = Valley -> above y x).
Proof.
  intros k u Cr NZ. destruct (gather2 u u) as (e & (He & Gu) & _). exists e. split; [auto|].
  intros x y Bx By M O Sh1 Sh2. pose proof M as (Sx & Sy & _ & E). destruct (place x Sx O) as (t & Ht & Ox & _).
  destruct (place y Sy) as (t' & Ht' & Oy & _); [now rewrite <- E|].
  destruct (meet_over x y t t') as (D & _ & _); auto. rewrite (above_iff t t' x y), (above_iff t' t y x) by auto.
  assert (C1 : closed (geo t) u) by (exact (Gu x t Bx Ht (open_closed t x Ox))).
  assert (C2 : closed (geo t') u) by (exact (Gu y t' By Ht' (open_closed t' y Oy))).
  destruct (two u t t' Ht Ht' C1 C2 NZ D) as (i & j & m & I & Hm & Eu). apply (GM t t' i j m k); auto.
  - now rewrite <- Eu.
  - pose proof (shows_sg t x 1 Ht Ox Sh1) as S. unfold sg in S. destruct (tu t); auto. lra.
  - pose proof (shows_sg t' y (-1) Ht' Oy Sh2) as S. unfold sg in S. destruct (tu t'); auto. lra.
Qed.
Theorem layer_order_from_finite : layer_order_with d F above N Z.
Proof. constructor; [exact HN1|exact A|exact Tr_|exact C_|exact M_|exact J_|exact JJ_]. Qed.
End Layers.
