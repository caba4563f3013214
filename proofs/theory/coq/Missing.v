(* Towards sound_refuted for "order", "stray" and "apart": what is missing, as statements that type-check. Nothing here is used. *)
Require Import Reals ZArith List Bool. Require Import Statement Document Cross Cover Paste Layers FoldMap Top Number MeshCheck FoldCheck CutCheck FoldMapUnique Checker.
Import ListNotations.
Open Scope R_scope.
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
(* stray and apart, one line (no_cut_for_all in FoldMapUnique.v does the rest): two target edges inside the sheet whose images are not on one
   line; a triangle whose image lies on both sides of the line of a target edge's image *)
Definition no_line_apart := forall V W T d t t' s s' i j k l, mesh V T d -> folds V W T d -> inner T t t' i j -> inner T s s' k l ->
  (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> (forall m, 0 < m < 1 -> on_target d (mid (V k) (V l) m)) ->
  left (W i) (W j) (W k) <> 0 -> ~ cut_exact d (F V W T).
Definition no_line_stray := forall V W T d t t' u i j k l, mesh V T d -> folds V W T d -> inner T t t' i j -> In u T -> corner u k -> corner u l ->
  (forall m, 0 < m < 1 -> on_target d (mid (V i) (V j) m)) -> (forall p, open (geo V u) p -> ~ on_target d p) ->
  left (W i) (W j) (W k) * left (W i) (W j) (W l) < 0 -> ~ cut_exact d (F V W T).
