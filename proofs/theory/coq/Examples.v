(* The definitions are not empty: a sheet with one fold folds flat; a sheet with a crease that ends in its middle does not. *)
Require Import Reals QArith List Bool ZArith. Require Import Statement Document Paste Number MeshCheck Field Evaluate Checker ClosureCheck.
Import ListNotations.
Definition places_of (l : list (Z * Z)) (i : nat) : kp := let p := nth i l (0%Z, 0%Z) in ([fst p], [snd p]).
Definition written (l : list (Z * Z)) : list (expr * expr) := map (fun p => (Lit (inject_Z (fst p)), Lit (inject_Z (snd p)))) l.
Definition rationals := Field 1 [0%Z] 1 [(1%Z, 1%Z)].
(*  5 --- 4 --- 3
    |     |     |      a valley from 1 to 4
    0 --- 1 --- 2  *)
Definition strip_points := [(0, 0); (1, 0); (2, 0); (2, 1); (1, 1); (0, 1)]%Z.
Definition one_fold := Document (written strip_points) [[0; 2; 3; 5]]%nat [(1%nat, 4%nat, Valley)] [] [] 0.
Definition one_fold_evidence := Certificate rationals (fun _ => None) 1 (places_of strip_points) (places_of [(0, 0); (1, 0); (0, 0); (0, 1); (1, 1); (0, 1)]%Z)
  [Tr 0 1 4 false 0; Tr 0 4 5 false 0; Tr 1 2 3 true 1; Tr 1 3 4 true 1] (fun i => i) [[0; 1; 2]; [2; 3]; [3; 4; 5]; [5; 0]]%nat [[1; 4]]%nat [] Z.of_nat (fun _ _ => false) [].
Example one_fold_holds : exists d, means one_fold d /\ holds one_fold d.
Proof. apply (certified_sound one_fold one_fold_evidence). vm_compute. reflexivity. Qed.
(*  5 --------- 3
    |     4     |      a crease from 1 to 4, in the middle of the sheet
    0 --- 1 --- 2  *)
Definition square_points := [(0, 0); (1, 0); (2, 0); (2, 2); (1, 1); (0, 2)]%Z.
Definition half_crease := Document (written square_points) [[0; 2; 3; 5]]%nat [(1%nat, 4%nat, Either)] [] [] 0.
Definition fan := [Tr 4 0 1 false 0; Tr 4 1 2 false 1; Tr 4 2 3 false 2; Tr 4 3 5 false 3; Tr 4 5 0 false 4].
Definition half_crease_evidence := Certificate rationals (fun _ => None) 1 (places_of square_points) (places_of square_points)
  fan (fun i => i) [[0; 1; 2]; [2; 3]; [3; 5]; [5; 0]]%nat [[1; 4]]%nat [] Z.of_nat (fun _ _ => false) [].
Example half_crease_never_folds : forall d, means half_crease d -> ~ holds half_crease d.
Proof.
  apply (closure_sound half_crease (half_crease_evidence, (Tr 4 0 1 false 0,
    [((4%nat, 1%nat), Tr 4 1 2 false 1); ((4%nat, 2%nat), Tr 4 2 3 false 2); ((4%nat, 3%nat), Tr 4 3 5 false 3); ((4%nat, 5%nat), Tr 4 5 0 false 4); ((4%nat, 0%nat), Tr 4 0 1 false 0)]))).
  vm_compute. reflexivity.
Qed.
