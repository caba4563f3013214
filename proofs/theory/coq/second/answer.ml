(* TRUSTED: what is said, of which statement. One line of JSON. *)
let line verdict digest claims reason =
  let plain = function '"' | '\\' -> '\'' | c when c < ' ' -> ' ' | c -> c in
  let quote s = "\"" ^ String.map plain s ^ "\"" in
  Printf.sprintf "{\"verdict\":%s,\"statement_sha256\":%s,\"claims\":[%s],\"reason\":%s}" (quote verdict) (quote digest)
    (String.concat "," (List.map quote claims)) (quote reason)

let claims document = if document.Proved.w_snips = 0 then ["folds-flat"] else ["folds-flat"; "cut-exact"]

let why document certificate =
  (* the first check that fails, for people; it decides nothing *)
  let checks = [
    "field", (fun () -> Proved.field_ok certificate.Proved.its_field);
    "points", (fun () -> Proved.check_points document certificate);
    "sheet", (fun () -> Proved.check_sheet document certificate);
    "folds", (fun () -> Proved.check_folded document certificate);
    "order", (fun () -> Proved.check_order document certificate);
    "cut", (fun () -> Proved.check_snips document certificate) ] in
  match List.find_opt (fun (_, holds) -> not (holds ())) checks with Some (name, _) -> name | None -> "none"

let decide statement evidence =
  let digest = Sha256.hex statement in
  try
    let document = Statement.document statement in
    try
      match Evidence.certificate evidence with
      | certificate, Evidence.Certified ->
        if Proved.check_certified document certificate then line "certified" digest (claims document) ""
        else line "rejected" digest [] (why document certificate)
      | certificate, Evidence.Closed (first, walk) ->
        if Proved.check_closure document certificate first walk then line "refuted" digest ["folds-flat"] ""
        else line "rejected" digest [] "closure"
      | certificate, Evidence.NoCut (first, tree, fault) ->
        if Proved.check_no_cut document certificate first tree fault then line "refuted" digest ["cut-exact"] ""
        else line "rejected" digest [] "cut"
      | certificate, Evidence.NoOrder (first, tree, overs, reasons, steps) ->
        if Proved.check_no_order document certificate first tree overs reasons steps
        then line "refuted" digest ["folds-flat"] ""
        else line "rejected" digest [] "order"
    with
    | Stack_overflow | Out_of_memory -> line "undecided" digest [] "out of memory"
    | error -> line "rejected" digest [] ("evidence: " ^ Printexc.to_string error)
  with
  | Statement.Unreadable what -> line "unsupported" digest [] what
  | error -> line "unsupported" digest [] (Printexc.to_string error)
