(* Two lines on standard input for each question: the canonical statement and the evidence; a line of JSON for each. *)
let () =
  try
    while true do
      let statement = input_line stdin in
      let evidence = input_line stdin in
      print_endline (Answer.decide statement evidence)
    done
  with End_of_file -> ()
