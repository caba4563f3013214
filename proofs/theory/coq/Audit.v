(* The theorems whose assumptions audit.sh prints. *)
Require Import Statement Document Sanity Cover Parity FoldMap Layers Cut Top Mesh Unique Checker Closure ClosureCheck
  Inside Drawn FoldMapUnique NoCut NoCutCheck Generic Disc Images Necessary OrderBack NoOrder
  NoOrderCheck Chords.
Print Assumptions cover.
Print Assumptions flat_top.
Print Assumptions cut_top.
Print Assumptions mesh_of_check.
Print Assumptions certified_sound.
Print Assumptions certified_means.
Print Assumptions rigid_on_triangle.
Print Assumptions closure_refutes.
Print Assumptions closure_sound.
Print Assumptions never_both.
Print Assumptions denotes_one.
Print Assumptions fold_map_unique.
Print Assumptions no_cut_for_all.
Print Assumptions vertex_inside.
Print Assumptions no_line_apart.
Print Assumptions no_line_stray.
Print Assumptions no_snips_apart.
Print Assumptions no_snips_stray.
Print Assumptions no_cut_sound.
Print Assumptions constant_on.
Print Assumptions order_on_discs.
Print Assumptions layers_necessary.
Print Assumptions order_back.
Print Assumptions no_order_sound.
Print Assumptions cross_is_odd.
Print Assumptions two_folds.
Print Assumptions fold_and_flat.
Print Assumptions two_flat.
Print Assumptions folds_opposite.
Print Assumptions walk_finds_crossings.
