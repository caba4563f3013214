(* The conditions on layers, tried by computation: the stacks of faces that check_layers accepts, counted.
   A strip of n squares, folded at every line: 2, 6, 16, 50 for n = 2 ... 5,
   the foldings of a strip of stamps (Touchard 1950; OEIS A000136).
   n sectors round a point, folded at every line: 2, 8, 48 for n = 2, 4, 6,
   that is n closed meanders (OEIS A005315: 1, 2, 8).
   Evaluated lazily: what is not needed is not computed. count.ml counts the same with the extracted code. *)
Require Import List Bool ZArith Arith. Require Import Statement Paste Number MeshCheck LayerCheck.
Import ListNotations.
Fixpoint insertions (x : nat) (l : list nat) : list (list nat) := match l with [] => [[x]] | y :: r =>
  (x :: y :: r) :: map (cons y) (insertions x r) end.
Fixpoint stacks (n : nat) : list (list nat) := match n with O => [[]] | S m => flat_map (insertions m) (stacks m) end.
Fixpoint position (f : nat) (l : list nat) : Z := match l with [] => 0%Z | g :: r =>
  if Nat.eqb f g then 0%Z else (1 + position f r)%Z end.
Definition accepted (img : nat -> kp) (T : list tr) (faces : nat) : nat :=
  length (filter (fun s => check_layers 1 [0%Z] [(1%Z, 1%Z)] img T [] [] (fun f => position f s) (fun _ _ => false))
    (stacks faces)).
(* vertices 2i and 2i + 1: below and above on the i-th line *)
Definition strip_image (v : nat) : kp := ([if Nat.odd (Nat.div2 v) then 1%Z else 0%Z],
  [if Nat.odd v then 1%Z else 0%Z]).
Definition strip (n : nat) : list tr := flat_map (fun i => let a := (2 * i)%nat in
  [Tr a (a + 2) (a + 3) (Nat.odd i) i; Tr a (a + 3) (a + 1) (Nat.odd i) i]) (seq 0 n).
Definition strip_orders (n : nat) := accepted strip_image (strip n) n.
(* vertex 0 in the middle, 1 ... n round it *)
Definition sector_image (v : nat) : kp := match v with O => ([0%Z], [0%Z]) | _ =>
  if Nat.odd v then ([1%Z], [0%Z]) else ([0%Z], [1%Z]) end.
Definition sectors (n : nat) : list tr := map (fun i => Tr 0 (1 + i) (if Nat.eqb (i + 1) n then 1 else 2 + i)
  (Nat.odd i) i) (seq 0 n).
Definition vertex_orders (n : nat) := accepted sector_image (sectors n) n.
Example strips : map strip_orders [1; 2; 3; 4; 5]%nat = [1; 2; 6; 16; 50]%nat.
Proof. lazy. reflexivity. Qed.
Example vertices : map vertex_orders [2; 4; 6]%nat = [2; 8; 48]%nat.
Proof. lazy. reflexivity. Qed.
