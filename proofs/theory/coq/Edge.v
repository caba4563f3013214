(* m_inner is no assumption: a point inside the sheet on an open edge has a second triangle on that edge. *)
Require Import Reals List Bool Lra Psatz Arith. Require Import Statement Cross Cover Paste Layers.
Import ListNotations.
Open Scope R_scope.
Section B.
Variables (V : nat -> pt) (T : list tr) (d : doc).
Notation geo := (geo V).
Hypothesis Hccw : forall t, In t T -> ccw (geo t).
Hypothesis P2 : forall t u i j l, In t T -> In u T -> corner t i -> corner t j -> i <> j -> 0 < l < 1 ->
   closed (geo u) (mid (V i) (V j) l) -> corner u i /\ corner u j.
Hypothesis Hcover : forall p, sheet d p <-> exists t, In t T /\ closed (geo t) p.
Lemma edge_side : forall t i j, In t T -> corner t i -> corner t j -> i <> j -> exists s, (s = 1 \/ s = -1) /\
  (forall q, closed (geo t) q -> 0 <= s * left (V i) (V j) q) /\ (forall q, open (geo t) q ->
    0 < s * left (V i) (V j) q).
Proof.
  intros t i j Ht Hi Hj D. assert (Sw : forall a b y, left a b y = - left b a y) by (intros; unfold left; ring).
  destruct Hi as [-> | [-> | ->]], Hj as [-> | [-> | ->]]; try congruence;
   [exists 1|exists (-1)|exists (-1)|exists 1|exists 1|exists (-1)]; (split; [auto|]); split; intros q (A & B & C);
     try lra; rewrite Sw; lra.
Qed.
Theorem second_triangle : forall s k l m, In s T -> k <> l -> corner s k -> corner s l -> 0 < m < 1 ->
  inside d (mid (V k) (V l) m) -> exists s', inner T s s' k l.
Proof.
  intros s k l m Hs D Hk Hl Hm (e & He & Hin). set (p := mid (V k) (V l) m) in *.
  destruct (edge_side s k l Hs Hk Hl D) as (g & Hg & C & O).
  pose proof (O _ (centre_open (geo s) (Hccw s Hs))) as Oc. set (c := centre (geo s)) in *.
  set (o := (2 * fst p - fst c, 2 * snd p - snd c)).
  assert (Lp : left (V k) (V l) p = 0) by apply left_ends.
  assert (Lo : left (V k) (V l) o = - left (V k) (V l) c).
  { transitivity (2 * left (V k) (V l) p - left (V k) (V l) c); [unfold left, o; simpl; ring|rewrite Lp; ring]. }
  destruct (near V T p) as (e' & He' & Hn).
  destruct (mid_near p o (Rmin e e') ltac:(now apply Rmin_glb_lt)) as (t & Ht & Hb). set (q := mid p o t) in *.
  unfold ball in Hb.
  assert (Lq : g * left (V k) (V l) q < 0).
  { unfold q. rewrite left_mid, Lp, Lo. assert (0 < t * (g * left (V k) (V l) c)) by (apply Rmult_lt_0_compat; lra).
    lra. }
  assert (Q : sheet d q) by (apply Hin; unfold ball; eapply Rlt_le_trans; [exact Hb|apply Rmin_l]). apply Hcover in Q.
  destruct Q as (u & Hu & Cu).
  assert (Cp : closed (geo u) p) by (apply (Hn q u); auto; unfold ball; eapply Rlt_le_trans; [exact Hb|apply Rmin_r]).
  destruct (P2 s u k l m Hs Hu Hk Hl D Hm Cp) as (Uk & Ul). exists u. unfold inner. repeat (split; [auto; fail|]).
  split; [|auto 8].
  intro E. subst u. specialize (C q Cu). lra.
Qed.
End B.
