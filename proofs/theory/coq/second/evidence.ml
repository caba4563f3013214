(* NOT trusted: reads the evidence that an exporter wrote (numbers and texts between blanks). Whatever comes out of it,
  the checker decides. *)
open Proved
module Z = Big_int_Z

(* numbers of expressions as texts, to look them up *)
let rec show = function
  | Lit r -> Z.string_of_big_int r.qnum ^ "/" ^ Z.string_of_big_int r.qden
  | Plus (a, b) -> "(" ^ show a ^ "+" ^ show b ^ ")"
  | Minus (a, b) -> "(" ^ show a ^ "-" ^ show b ^ ")"
  | Times (a, b) -> "(" ^ show a ^ "*" ^ show b ^ ")"
  | Over (a, b) -> "(" ^ show a ^ ":" ^ show b ^ ")"
  | Root a -> "sqrt" ^ show a
  | Cos r -> "cos" ^ show (Lit r)
  | Sin r -> "sin" ^ show (Lit r)
  | Tan r -> "tan" ^ show (Lit r)

type refutation =
  | Certified
  | Closed of tr * ((int * int) * tr) list
  | NoCut of tr * ((int * int) * (tr * tr)) list * fault
  | NoOrder of tr * ((int * int) * (tr * tr)) list * ((tr * tr) * ((Z.big_int * Z.big_int) * Z.big_int)) list
    * reason list * ((tr * tr) list * int list) list

let certificate source =
  let items = Array.of_list (List.filter (( <> ) "") (String.split_on_char ' ' source)) in
  let at = ref 0 in
  let item () = let x = items.(!at) in incr at; x in
  let int () = int_of_string (item ()) in
  let z () = Z.big_int_of_string (item ()) in
  let times n read =
    let a = Array.make n None in
    for i = 0 to n - 1 do a.(i) <- Some (read ()) done;
    List.map Option.get (Array.to_list a) in
  let listed read = let n = int () in times n read in
  let pair read () = let a = read () in let b = read () in (a, b) in
  if item () <> "second/1" then failwith "not evidence of the second checker";
  let degree = int () in
  let element () = times degree z in
  let red = element () in
  let scaled = z () in
  let powers = listed (pair z) in
  let values = Hashtbl.create 9 in
  ignore (listed (fun () ->
    let key = item () in
    let value = element () in
    let den = z () in
    Hashtbl.replace values (show (Statement.expression key)) (value, den)));
  List.iter (fun (q, n, d) ->
    let r = { qnum = Z.big_int_of_int 1; qden = Z.big_int_of_int q } in
    let value = Z.big_int_of_int n :: List.init (degree - 1) (fun _ -> Z.big_int_of_int 0) in
    Hashtbl.replace values (show (Cos r)) (value, Z.big_int_of_int d)) [1, -1, 1; 2, 0, 1; 3, 1, 2];
  let den = z () in
  let points () = let a = Array.of_list (listed (pair element)) in fun i -> a.(i) in
  let pts = points () in
  let img = points () in
  let tris = listed (fun () ->
    let ci = int () in let cj = int () in let ck = int () in
    let tu = int () = 1 in
    let tf = int () in
    { ci; cj; ck; tu; tf }) in
  let numbers () = let a = Array.of_list (listed int) in fun i -> a.(i) in
  let vertex = numbers () in
  let chains () = listed (fun () -> listed int) in
  let sheet_chains = chains () in
  let crease_chains = chains () in
  let target_chains = chains () in
  let place = numbers () in
  let exceptions = Hashtbl.create 9 in
  List.iter (fun p -> Hashtbl.replace exceptions p ()) (listed (pair int));
  let cuts_along = listed (pair int) in
  (* a refutation: a closed walk, the first triangle and for each step an edge and the next triangle;
     or a tree over the triangles, and a target edge with what is met on its line or segment,
     or target edges of which no two can lie on one snip, or triangles that lie over one another, reasons,
     and steps from their clauses *)
  let refutation =
    if !at = Array.length items then Certified
    else begin
      let t = Array.of_list tris in
      let kind = item () in
      let first = t.(int ()) in
      if kind = "closure" then Closed (first, listed (fun () ->
        let i = int () in let j = int () in
        ((i, j), t.(int ()))))
      else begin
        let tree = listed (fun () ->
          let i = int () in let j = int () in let u = t.(int ()) in
          ((i, j), (u, t.(int ())))) in
        let tri () = t.(int ()) in
        let seam () = let i = int () in let j = int () in let u = tri () in ((i, j), (u, tri ())) in
        let place () = let r = z () in (r, z ()) in
        let weights () = let a = z () in let b = z () in ((a, b), z ()) in
        let two make = let e = seam () in let f = seam () in let r, n = place () in make e f r n in
        let reason () = match item () with
          | "mark" -> ByMark (seam ())
          | "crossing" -> let e = seam () in let s = tri () in let r, n = place () in ByCrossing (e, s, r, n)
          | "flats" -> two (fun e f r n -> ByFlats (e, f, r, n))
          | "flat" -> two (fun e f r n -> ByFlat (e, f, r, n))
          | "folds" -> two (fun e f r n -> ByFolds (e, f, r, n))
          | "three" ->
            let a = tri () in let b = tri () in let c = tri () in
            let (x, y), v = weights () in
            ByThree (a, b, c, x, y, v)
          | _ -> failwith "not a reason" in
        let cell () = match item () with
          | "face" -> let u = t.(int ()) in let r = z () in CellFace (u, r, z ())
          | "edge" -> let k = int () in CellEdge (k, int ())
          | "vertex" -> CellVertex (int ())
          | _ -> failwith "not a face, an edge or a vertex" in
        if kind = "order" then begin
          let overs = listed (fun () -> let both = pair tri () in (both, weights ())) in
          let reasons = listed reason in
          NoOrder (first, tree, overs, reasons, listed (fun () ->
            let clause = listed (pair tri) in
            (clause, listed int)))
        end else if kind = "stray" then begin
          let edge = pair int () in
          NoCut (first, tree, Stray (edge, cell ()))
        end else begin
          let edges = listed (pair int) in
          let whys = Hashtbl.create 9 in
          let rec pairs = function
            | [] -> ()
            | e :: rest ->
              List.iter (fun f ->
                let why = if int () = 0 then None
                  else begin let x = int () = 1 in let y = int () = 1 in Some ((x, y), cell ()) end in
                Hashtbl.replace whys (e, f) why) rest;
              pairs rest in
          pairs edges;
          NoCut (first, tree, Apart (edges, fun e f -> Option.join (Hashtbl.find_opt whys (e, f))))
        end
      end
    end in
  if !at < Array.length items then failwith "something follows the evidence";
  { its_field = { degree; red; scaled; powers }; known = (fun e -> Hashtbl.find_opt values (show e)); den; pts; img;
    tris; vertex;
    sheet_chains; crease_chains; target_chains; rank = (fun f -> Z.big_int_of_int (place f));
    flip = (fun f g -> Hashtbl.mem exceptions (f, g) || Hashtbl.mem exceptions (g, f)); cuts_along }, refutation
