(* Towards sound_refuted for "order": what is missing, as statements that type-check. Nothing here is used. *)
Require Import Reals ZArith List Bool. Require Import Statement Document Cross Cover Paste Layers FoldMap Top FoldMapUnique.
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
