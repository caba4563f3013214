(* The checker, extracted. Trusted with it: Coq's extraction, and what these libraries say of bool, list, option, nat
   and Z. *)
Require Import Field Checker ClosureCheck NoCutCheck NoOrderCheck Model.
Require Import Extraction ExtrOcamlBasic ExtrOcamlZBigInt ExtrOcamlNatInt.
Extraction Language OCaml.
Extraction "proved.ml" check_certified check_closure check_no_cut check_no_order check_points check_sheet check_folded
  check_order check_snips field_ok.
Extraction "counted.ml" strip_orders vertex_orders.
