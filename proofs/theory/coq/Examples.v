(* The definitions are not empty: a sheet with one fold folds flat, and one line frees a square window after three
   folds; a sheet with a crease that ends in
   its middle does not fold flat. *)
Require Import Reals QArith List Bool ZArith.
Require Import Statement Document Paste Number MeshCheck Field Evaluate Checker ClosureCheck.
Import ListNotations.
Definition places_of (l : list (Z * Z)) (i : nat) : kp := let p := nth i l (0%Z, 0%Z) in ([fst p], [snd p]).
Definition written (l : list (Z * Z)) : list (expr * expr) := map (fun p =>
  (Lit (inject_Z (fst p)), Lit (inject_Z (snd p)))) l.
Definition rationals := Field 1 [0%Z] 1 [(1%Z, 1%Z)].
(*  5 --- 4 --- 3
    |     |     |      a valley from 1 to 4
    0 --- 1 --- 2  *)
Definition strip_points := [(0, 0); (1, 0); (2, 0); (2, 1); (1, 1); (0, 1)]%Z.
Definition one_fold := Document (written strip_points) [[0; 2; 3; 5]]%nat [(1%nat, 4%nat, Valley)] [] [] 0.
Definition one_fold_evidence := Certificate rationals (fun _ => None) 1 (places_of strip_points)
  (places_of [(0, 0); (1, 0); (0, 0); (0, 1); (1, 1); (0, 1)]%Z)
  [Tr 0 1 4 false 0; Tr 0 4 5 false 0; Tr 1 2 3 true 1; Tr 1 3 4 true 1] (fun i => i) [[0; 1; 2]; [2; 3]; [3; 4; 5];
    [5; 0]]%nat [[1; 4]]%nat [] Z.of_nat (fun _ _ => false) [].
Example one_fold_folds : exists d, means one_fold d /\ folds_flat d.
Proof.
  destruct (certified_sound one_fold one_fold_evidence) as (d & M & F & above & A & B & _); [vm_compute; reflexivity|].
  exists d. split; [exact M|]. now exists F, above.
Qed.
(*   nw ---- n ---- ne     a sheet of 150 by 150; folded along s n, then along w e, then along both diagonals in one;
   the window of 60 by 60 is freed
     |  \\    |    // |     by one straight cut (proofs/certified/window-three-folds.toml, and its certificate)
     |    + - - - +    |
     w    |  mid  |    e     points: e middle n ne nw s se sw w, and the corners of the window: ne nw se sw
     |    + - - - +    |
     |  //    |    \\ |
     sw ---- s ---- se  *)
Definition window_points := [(75, 0); (0, 0); (0, 75); (75, 75); (-75, 75); (0, -75); (75, -75); (-75, -75); (-75, 0);
  (30, 30); (-30, 30); (30, -30); (-30, -30)]%Z.
Definition window := Document (written window_points) [[7; 6; 3; 4]]%nat [(5, 2, Valley); (1, 0, Valley);
  (1, 8, Mountain); (1, 6, Valley); (1, 7, Mountain); (1, 4, Valley); (1, 3, Mountain)]%nat [[12; 11; 9; 10]]%nat [] 1.
Definition window_triangles := [Tr 9 0 4 false 0; Tr 4 13 9 false 0; Tr 8 0 9 true 1; Tr 9 16 8 true 1;
  Tr 10 1 7 false 2; Tr 7 15 10 false 2; Tr 4 1 10 true 3; Tr 10 13 4 true 3; Tr 11 2 5 false 4; Tr 5 14 11 false 4;
  Tr 7 2 11
  true 5; Tr 11 15 7 true 5; Tr 12 3 8 false 6; Tr 8 16 12 false 6; Tr 5 3 12 true 7; Tr 12 14 5 true 7;
    Tr 6 9 13 false 8; Tr 6 10 15 false 9; Tr 6 11 14 false 10; Tr 6 12 16 false 11; Tr 6 13 10 true 12;
    Tr 6 14 12 true 13; Tr 6
  15 11 true 14; Tr 6 16 9 true 15]%nat.
Definition window_evidence := Certificate rationals (fun _ => None) 1 (places_of [(-75, -75); (75, -75); (75, 75);
  (-75, 75); (0, -75); (0, 75); (0, 0); (75, 0); (-75, 0); (-30, -30); (30, -30); (30, 30); (-30, 30); (0, -30); (0,
  30); (30, 0); (-30, 0)]%Z) (places_of [(-75, -75); (-75, -75); (-75, -75); (-75, -75); (0, -75); (0, -75); (0, 0);
    (0, -75); (0, -75); (-30, -30); (-30, -30); (-30, -30); (-30, -30); (0, -30); (0, -30); (0, -30); (0, -30)]%Z)
  window_triangles (fun i => nth i [7; 6; 5; 2; 3; 4; 1; 0; 8; 11; 12; 10; 9]%nat 0%nat) [[0; 4; 1]; [1; 7; 2];
    [2; 5; 3]; [3; 8; 0]]%nat [[4; 13; 6; 14; 5]; [6; 15; 7]; [6; 16; 8]; [6; 10; 1]; [6; 9; 0]; [6; 12; 3]; [6; 11;
  2]]%nat [[9; 13; 10]; [10; 15; 11]; [11; 14; 12]; [12; 16; 9]]%nat
  (fun f => nth f [2; 1; 0; 3; 6; 5; 4; 7; 10; 8; 14; 12; 11; 15; 13; 9]%Z 0%Z) (fun _ _ => false) [(9, 13)]%nat.
Example window_is_freed : exists d, means window d /\ frees d.
Proof.
  destruct (certified_sound window window_evidence) as (d & M & F & above & A & B & C & _); [lazy; reflexivity|].
  exists d. split; [exact M|]. exists F, above. auto.
Qed.
(*  5 --------- 3
    |     4     |      a crease from 1 to 4, in the middle of the sheet
    0 --- 1 --- 2  *)
Definition square_points := [(0, 0); (1, 0); (2, 0); (2, 2); (1, 1); (0, 2)]%Z.
Definition half_crease := Document (written square_points) [[0; 2; 3; 5]]%nat [(1%nat, 4%nat, Either)] [] [] 0.
Definition fan := [Tr 4 0 1 false 0; Tr 4 1 2 false 1; Tr 4 2 3 false 2; Tr 4 3 5 false 3; Tr 4 5 0 false 4].
Definition half_crease_evidence := Certificate rationals (fun _ => None) 1 (places_of square_points)
  (places_of square_points)
  fan (fun i => i) [[0; 1; 2]; [2; 3]; [3; 5]; [5; 0]]%nat [[1; 4]]%nat [] Z.of_nat (fun _ _ => false) [].
Example half_crease_never_folds : forall d, means half_crease d -> ~ folds_flat d.
Proof.
  intros d M (F & above & A & B). refine (closure_sound half_crease (half_crease_evidence, (Tr 4 0 1 false 0,
    [((4%nat, 1%nat), Tr 4 1 2 false 1); ((4%nat, 2%nat), Tr 4 2 3 false 2); ((4%nat, 3%nat), Tr 4 3 5 false 3);
      ((4%nat, 5%nat), Tr 4 5 0 false 4); ((4%nat, 0%nat), Tr 4 0 1 false 0)])) _ d M _); [vm_compute; reflexivity|].
  exists F, above. split; [exact A|split; [exact B|split; intro H; inversion H]].
Qed.
