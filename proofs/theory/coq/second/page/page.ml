(* In a browser: the answer as a function of two texts. *)
open Js_of_ocaml

let () =
  Js.export "secondChecker"
    (Js.wrap_callback (fun statement evidence ->
      Js.string (Answer.decide (Js.to_string statement) (Js.to_string evidence))))
