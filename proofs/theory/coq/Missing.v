(* Towards sound_refuted: what is missing, as statements that type-check, and what follows from them.
   Nothing here is used by the checker. *)
Require Import Reals ZArith List Bool Lra Psatz. Require Import Statement Document Cross Cover Paste Layers FoldMap Top.
Import ListNotations.
Open Scope R_scope.
(* A fold map is the only one but for the place of the folded paper: what refutations of the cut and of the order need first. *)
Definition unique_fold (d : doc) (F : pt -> pt) := forall G, fold_map d G -> exists sigma c s tx ty, (sigma = 1 \/ sigma = -1) /\ c * c + s * s = 1 /\
  forall p, sheet d p -> G p = (tx + c * fst (F p) - sigma * s * snd (F p), ty + s * fst (F p) + sigma * c * snd (F p)).
(* joined: a search shows that the triangles are in one piece, across edges *)
Inductive joined (T : list tr) : tr -> tr -> Prop :=
| joined_self t : In t T -> joined T t t
| joined_step t u v i j : joined T t u -> inner T u v i j -> joined T t v.
Definition fold_map_unique := forall V W T d, mesh V T d -> folds V W T d -> (forall t u, In t T -> In u T -> joined T t u) -> unique_fold d (F V W T).
(* order, the hardest: from a layer order at points to one of pairs of triangles. Generic points off finite sets of lines and places,
   and that the overlap of two triangles without finitely many lines and places is joined by small steps. *)
Definition order_constant := forall V W T d, mesh V T d -> folds V W T d -> forall above N Z, layer_order_with d (F V W T) above N Z ->
  forall t s x y x' y', In t T -> In s T -> t <> s -> open (geo V t) x -> open (geo V s) y -> open (geo V t) x' -> open (geo V s) y' ->
  Ft V W t x = Ft V W s y -> Ft V W t x' = Ft V W s y' -> off N (Ft V W t x) -> off N (Ft V W t x') -> (above x y <-> above x' y').
Definition layers_necessary := forall V W T d, mesh V T d -> folds V W T d -> forall above N Z, layer_order_with d (F V W T) above N Z -> exists gt, layers V W T d gt.
(* reasons: clauses that every order of the triangles satisfies (a literal is positive for "t above s"); then steps by unit propagation *)
Definition holds_in (v : positive -> bool) (c : list Z) := exists l, In l c /\ match l with Zpos p => v p = true | Zneg p => v p = false | Z0 => False end.
Definition reasons_sound := forall V W T d (clauses : list (list Z)) (lit : tr -> tr -> Z), mesh V T d -> folds V W T d -> forall gt, layers V W T d gt ->
  forall v : positive -> bool, (forall t s, over V W t s -> (gt t s <-> holds_in v [lit t s])) -> forall c, In c clauses -> holds_in v c.

(* ---- what follows, proved ---- *)
(* where the fold map is unique, a cut that fails with one fold map fails with all *)
Lemma line_back : forall l sigma c s tx ty, (sigma = 1 \/ sigma = -1) -> c * c + s * s = 1 -> proper l -> exists l', proper l' /\
  forall x y, on_line l' (x, y) <-> on_line l (tx + c * x - sigma * s * y, ty + s * x + sigma * c * y).
Proof.
  intros [[A B] C] sigma c s tx ty Hs N P. exists (A * c + B * s, sigma * (B * c - A * s), C - A * tx - B * ty). split.
  - unfold proper in *. intro Z. apply P. rewrite <- Z. assert (G : sigma * sigma = 1) by (destruct Hs as [-> | ->]; ring).
    transitivity ((c * c + s * s) * (A * A + B * B)); [rewrite N; ring|].
    transitivity ((A * c + B * s) * (A * c + B * s) + (sigma * sigma) * ((B * c - A * s) * (B * c - A * s))); [rewrite G; ring|ring].
  - intros x y. unfold on_line; simpl. split; intro H; [rewrite <- Rplus_0_r; apply Rminus_diag_uniq|]; nra.
Qed.
Lemma inside_in : forall d p, inside d p -> sheet d p.
Proof. intros d p (e & He & H). apply H. unfold ball, dist. rewrite !Rminus_eq_0, Rabs_R0, Rmax_left; lra. Qed.
Theorem no_cut_for_all : forall d F, unique_fold d F -> ~ cut_exact d F -> ~ frees d.
Proof.
  intros d F U N (G & above & FG & _ & (l & P & A & B)). apply N. destruct (U G FG) as (sigma & c & s & tx & ty & Hs & Nc & E).
  destruct (line_back l sigma c s tx ty Hs Nc P) as (l' & P' & L). exists l'. split; auto. split; auto. intros p Hp.
  rewrite <- (B p Hp), (E p (inside_in d p Hp)). destruct (F p) as [x y]. cbn [fst snd]. apply L.
Qed.
