(* The milestones as statements that type-check (Definitions of propositions; nothing here is proved). *)
Require Import Reals ZArith List Bool. Require Import Statement Cross Cover Parity Paste Layers FoldMap Cut Edge Top Unique Number MeshCheck Document.
Import ListNotations.
Open Scope R_scope.
Section Plan.
Variables (n : nat) (q : K) (E : list (Z * Z)) (alpha S0 : R) (pts img : nat -> kp) (T : list tr) (d : doc).
Definition field_ok := (0 < n)%nat /\ alpha ^ n = val alpha q /\ 0 < S0 /\ enc_ok alpha S0 0 E.
Notation V := (MeshCheck.V alpha pts). Notation W := (MeshCheck.W alpha img).
Definition edges_of : list (nat * nat) := flat_map tpairs T.
(* M1 *) Definition mesh_of_check := forall walks : list (nat * nat), field_ok -> check_mesh n q E pts img T = true ->
   even_edges (edges_of ++ walks) = true -> NoDup edges_of ->                      (* no directed edge twice: gives m_sides and m_two *)
   (forall p, odd (outline d) p = odd (map (Parity.place V) walks) p) -> mesh V T d.
(* M2 *) Variable marks : nat -> nat -> option kind.  (* of an edge, from the chains *)
Definition marks_of (t : list (nat * nat * kind)) := forall i j, marks i j = marks j i.
Definition folds_of_check := forall check_marks check_star : bool, field_ok -> check_mesh n q E pts img T = true -> check_marks = true -> check_star = true -> folds V W T d.
(* M3 *) Variable sep : tr -> tr -> bool.  (* images said not to meet: a line of one has the other on its far side *)
Definition sep_sound := field_ok -> check_mesh n q E pts img T = true -> forall t s, In t T -> In s T -> sep t s = true -> ~ over V W t s.
Variable rank : tr -> nat. Definition below (t s : tr) := (rank t < rank s)%nat.
Definition layers_of_check := forall check_order : bool, field_ok -> check_order = true -> layers V W T d (fun t s => below s t).
(* M4 *) Definition cuts_of_check := forall (l : line) (check_cut : bool), field_ok -> check_cut = true -> cuts V W T d l.
(* M5 *) Variable eval : expr -> option K.
Definition eval_sound := field_ok -> forall e k, eval e = Some k -> denotes e (val alpha k).
(* M6 *) Definition M6 := forall certificate check, sound_certified certificate check.
(* M7 *) Definition M7 := forall d, (exists (V W : nat -> pt) T, mesh V T d /\ folds V W T d) -> unique_fold d.
(* M8: L3, the order of two triangles is one order *)
Definition order_constant := mesh V T d -> folds V W T d -> forall above N Z, layer_order_with d (F V W T) above N Z ->
   forall t s x y x' y', In t T -> In s T -> t <> s -> open (geo V t) x -> open (geo V s) y -> open (geo V t) x' -> open (geo V s) y' ->
   Ft V W t x = Ft V W s y -> Ft V W t x' = Ft V W s y' -> off N (Ft V W t x) -> off N (Ft V W t x') -> (above x y <-> above x' y').
Definition layers_necessary := mesh V T d -> folds V W T d -> forall above N Z, layer_order_with d (F V W T) above N Z -> exists gt, layers V W T d gt.
(* M9 *) Variable clauses : list (list Z). Variable lit : tr -> tr -> Z.
Definition reasons_sound := forall gt, layers V W T d gt -> forall v : positive -> bool,
   (forall t s, over V W t s -> (gt t s <-> match lit t s with Zpos p => v p = true | Zneg p => v p = false | Z0 => False end)) ->
   forall c, In c clauses -> exists l, In l c /\ match l with Zpos p => v p = true | Zneg p => v p = false | Z0 => False end.
Definition M9 := forall certificate check, sound_refuted certificate check.
End Plan.
