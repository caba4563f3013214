(* A map that is rigid near each point of a segment is one rigid map along it; so any fold map is one isometry on a
   triangle that no fold enters. *)
Require Import Reals List Bool Lra Psatz. Require Import Statement Cross Cover.
Open Scope R_scope.
Definition par := (R * R * R * (R * R * R))%type.
Definition af (m : par) (q : pt) : pt := let '(a, b, c, (a', b', c')) :=
  m in (a + b * fst q + c * snd q, a' + b' * fst q + c' * snd q).
Definition germ (F : pt -> pt) (p : pt) (m : par) := exists e, 0 < e /\ forall q, ball p e q -> F q = af m q.
Lemma dist_tri : forall p q r, dist p r <= dist p q + dist q r.
Proof.
  intros. unfold dist. apply Rmax_lub.
  - replace (fst p - fst r) with ((fst p - fst q) + (fst q - fst r)) by ring. eapply Rle_trans; [apply Rabs_triang|].
    apply Rplus_le_compat; apply Rmax_l.
  - replace (snd p - snd r) with ((snd p - snd q) + (snd q - snd r)) by ring. eapply Rle_trans; [apply Rabs_triang|].
    apply Rplus_le_compat; apply Rmax_r.
Qed.
Lemma dist_pos : forall p q, 0 <= dist p q.
Proof. intros. unfold dist. eapply Rle_trans; [|apply Rmax_l]. apply Rabs_pos. Qed.
Lemma germ_move : forall F x e m y, (forall q, ball x e q -> F q = af m q) -> ball x e y -> germ F y m.
Proof.
  intros F x e m y H Hy. unfold ball in *. exists (e - dist x y). split; [lra|]. intros q Hq. unfold ball in Hq.
  apply H. pose proof (dist_tri x y q). lra.
Qed.
Lemma germ_unique : forall F p m m', germ F p m -> germ F p m' -> m = m'.
Proof.
  intros F p m m' (e & He & H) (e' & He' & H'). set (h := Rmin e e' / 2).
  assert (Hm : 0 < Rmin e e') by (now apply Rmin_glb_lt). assert (Hh : 0 < h < Rmin e e') by (unfold h; lra).
  destruct m as [[[a b] c] [[a' b'] c']], m' as [[[u v] w] [[u' v'] w']].
  assert (K : forall x y, Rabs x < Rmin e e' -> Rabs y < Rmin e e' -> af (a, b, c, (a', b', c')) (fst p - x, snd p - y)
    = af (u, v, w, (u', v', w')) (fst p - x, snd p - y)).
  { intros x y Hx Hy. assert (Bb : ball p (Rmin e e') (fst p - x, snd p - y)).
    { unfold ball, dist; simpl. replace (fst p - (fst p - x)) with x by ring.
      replace (snd p - (snd p - y)) with y by ring. now apply Rmax_lub_lt. }
    unfold ball in Bb.
    rewrite <- H, <- H'; auto; unfold ball; eapply Rlt_le_trans; [exact Bb|apply Rmin_r|exact Bb|apply Rmin_l]. }
  assert (R0 : Rabs 0 < Rmin e e') by (rewrite Rabs_R0; lra).
  assert (Rh : Rabs h < Rmin e e') by (rewrite Rabs_pos_eq; lra).
  pose proof (K 0 0 R0 R0) as K0. pose proof (K h 0 Rh R0) as K1. pose proof (K 0 h R0 Rh) as K2.
  unfold af in K0, K1, K2. simpl in K0, K1, K2.
  injection K0 as X0 Y0. injection K1 as X1 Y1. injection K2 as X2 Y2.
  assert (Q : forall z, h * z = 0 -> z = 0) by (intros z Hz; apply Rmult_integral in Hz; destruct Hz; lra).
  assert (b - v = 0) by (apply Q; lra). assert (c - w = 0) by (apply Q; lra). assert (b' - v' = 0) by (apply Q; lra).
  assert (c' - w' = 0) by (apply Q; lra).
  assert (b = v) by lra. assert (c = w) by lra. assert (b' = v') by lra. assert (c' = w') by lra. subst.
  repeat f_equal; lra.
Qed.
Lemma dist_mid : forall p q s t, dist (mid p q s) (mid p q t) = Rabs (s - t) * dist p q.
Proof.
  intros. unfold dist, mid; simpl. rewrite <- RmaxRmult by apply Rabs_pos. rewrite <- !Rabs_mult.
  f_equal; [replace ((s - t) * (fst p - fst q)) with (- ((1 - s) * fst p + s * fst q - ((1 - t) * fst p + t * fst q)))
    by ring|
            replace ((s - t) * (snd p - snd q)) with (- ((1 - s) * snd p + s * snd q - ((1 - t) * snd p + t * snd q)))
              by ring]; now rewrite Rabs_Ropp.
Qed.
Lemma par_dec : forall m m' : par, {m = m'} + {m <> m'}.
Proof.
  intros [[[a b] c] [[e f] g]] [[[a' b'] c'] [[e' f'] g']]. destruct (Req_EM_T a a') as [->|N]; [|right; congruence].
  destruct (Req_EM_T b b') as [->|N]; [|right; congruence]. destruct (Req_EM_T c c') as [->|N]; [|right; congruence].
  destruct (Req_EM_T e e') as [->|N]; [|right; congruence]. destruct (Req_EM_T f f') as [->|N]; [|right; congruence].
  destruct (Req_EM_T g g') as [->|N]; [|right; congruence]. now left.
Qed.
Theorem along : forall F p q m0, (forall t, 0 <= t <= 1 -> exists m, germ F (mid p q t) m) -> germ F (mid p q 0) m0 ->
  germ F (mid p q 1) m0.
Proof.
  intros F p q m0 Hg H0. set (E := fun t => 0 <= t <= 1 /\ forall t', 0 <= t' <= t -> germ F (mid p q t') m0).
  assert (E0 : E 0). { split; [lra|]. intros t' Ht. replace t' with 0 by lra. auto. }
  destruct (completeness E) as (s & Ub & Lub). { exists 1. intros t (Ht & _). lra. } { exists 0. auto. }
  assert (S0 : 0 <= s) by (apply Ub; auto). assert (S1 : s <= 1) by (apply Lub; intros t (Ht & _); lra).
  destruct (Hg s ltac:(lra)) as (m & e & He & Hm). set (M := dist p q) in *. assert (HM : 0 <= M) by apply dist_pos.
  set (dl := e / (M + 1)). assert (Hd : 0 < dl) by (apply Rdiv_lt_0_compat; lra).
  assert (Near : forall t, Rabs (s - t) < dl -> germ F (mid p q t) m).
  { intros t Ht. apply (germ_move F (mid p q s) e m); auto. unfold ball. rewrite dist_mid. fold M.
    pose proof (Rabs_pos (s - t)).
    assert (Rabs (s - t) * (M + 1) < e).
    { replace e with (dl * (M + 1)) by (unfold dl; field; lra). apply Rmult_lt_compat_r; lra. }
    nra. }
  (* not not: some t of E is near s.  Equality of real numbers is decided, so this suffices. *)
  assert (Ex : ~ ~ exists t, E t /\ s - dl < t).
  { intro N. assert (U : is_upper_bound E (s - dl)).
  { intros t Et. apply Rnot_lt_le. intro. apply N. eauto. }
  pose proof (Lub _ U). lra. }
  assert (Em : m = m0).
  { destruct (par_dec m m0) as [Q|Q]; auto. exfalso. apply Ex. intros (t & Et & Ht).
    assert (Ts : t <= s) by (apply Ub; auto). destruct Et as (Tt & HT).
    apply Q. apply (germ_unique F (mid p q t)); [apply Near; rewrite Rabs_pos_eq; lra|apply HT; lra]. } subst m.
  assert (Ext : forall u, 0 <= u -> u <= 1 -> u < s + dl -> germ F (mid p q u) m0).
  { intros u Hu Hu1 Hu'. destruct (Rlt_dec (Rabs (s - u)) dl) as [R|R]; [now apply Near|].
    assert (Us : u <= s - dl) by (apply Rnot_lt_le; intro; apply R; apply Rabs_def1; lra).
    destruct (Hg u ltac:(lra)) as (m' & Gm'). destruct (par_dec m' m0) as [<-|Q]; auto. exfalso. apply Ex.
    intros (t & (Tt & HT) & Ht). apply Q. apply (germ_unique F (mid p q u)); auto. apply HT. lra. }
  destruct (Rlt_dec s 1) as [L|L]; [|apply Ext; lra].
  exfalso. set (v := Rmin 1 (s + dl / 2)). assert (v <= 1) by apply Rmin_l. assert (v <= s + dl / 2) by apply Rmin_r.
  assert (s < v) by (apply Rmin_glb_lt; lra).
  assert (Ev : E v). { split; [lra|]. intros t' Ht'. apply Ext; lra. } pose proof (Ub v Ev). lra.
Qed.
Lemma shows_germ : forall F g p, shows F g p -> exists m, germ F p m /\ exists c s tx ty, c * c + s * s = 1 /\
  m = (tx, c, - (g * s), (ty, s, g * c)).
Proof.
  intros F g p (e & He & c & s & tx & ty & N & H). exists (tx, c, - (g * s), (ty, s, g * c)).
  split; [|exists c, s, tx, ty; auto].
  exists e. split; auto. intros q Hq. rewrite (H q Hq). unfold af. f_equal; ring.
Qed.
(* ANY fold map of the document is one isometry on each triangle that no fold line enters *)
Theorem rigid_on_triangle : forall d G t, fold_map d G -> ccw t -> (forall p, open t p -> inside d p /\ ~ on_fold d p)
  ->
  exists m g c s tx ty, (g = 1 \/ g = -1) /\ c * c + s * s = 1 /\ m = (tx, c, - (g * s), (ty, s, g * c)) /\ forall p,
    open t p -> germ G p m.
Proof.
  intros d G t FM HC HO. pose proof (centre_open t HC) as Oc. set (c0 := centre t) in *.
  assert (L : forall p, open t p -> exists g m, (g = 1 \/ g = -1) /\ germ G p m /\ exists c s tx ty,
    c * c + s * s = 1 /\ m = (tx, c, - (g * s), (ty, s, g * c))).
  { intros p Hp. destruct (HO p Hp) as (I & N).
    destruct (fm_flat d G FM p I N) as [S|S]; destruct (shows_germ _ _ _ S) as (m & Gm & R);
      [exists 1, m|exists (-1), m]; auto. }
  destruct (L c0 Oc) as (g & m & Hg & Gm & c & s & tx & ty & N & Em). exists m, g, c, s, tx, ty.
  repeat (split; [assumption|]). intros p Hp.
  assert (Mid0 : mid c0 p 0 = c0) by (unfold mid; destruct c0; simpl; f_equal; ring).
  assert (Mid1 : mid c0 p 1 = p) by (unfold mid; destruct p; simpl; f_equal; ring).
  rewrite <- Mid1. apply along; [|now rewrite Mid0]. intros u Hu.
  assert (Ou : open t (mid c0 p u)).
  { destruct t as [[a b] e]. unfold open in *. rewrite !left_mid. destruct Oc as (?&?&?), Hp as (?&?&?).
    repeat split; nra. }
  destruct (L _ Ou) as (_ & m' & _ & Gm' & _). eauto.
Qed.
