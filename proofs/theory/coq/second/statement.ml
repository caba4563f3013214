(* TRUSTED: reads the canonical statement of a pattern (SPECIFICATION, section 1) as the checker's document.
   The text must be the canonical one: its SHA-256 is the digest that is reported. *)
open Proved

exception Unreadable of string

let fail what = raise (Unreadable what)

type json = Null | Number of string | Text of string | List of json list | Table of (string * json) list

(* Names are compared as they are escaped: in the canonical text one name has one form. *)
let json text =
  let at = ref 0 in
  let peek () = if !at < String.length text then text.[!at] else '\000' in
  let take c = if peek () = c then incr at else fail (Printf.sprintf "expected %C at byte %d" c !at) in
  let quoted () =
    take '"';
    let start = !at in
    while peek () <> '"' do
      if !at >= String.length text then fail "a text does not end";
      at := !at + (if peek () = '\\' then 2 else 1)
    done;
    incr at;
    String.sub text start (!at - 1 - start) in
  let rec listed close item = if peek () = close then (incr at; []) else rest close item (item ())
  and rest close item first =
    if peek () = close then (incr at; [first])
    else (take ','; let next = item () in first :: rest close item next) in
  let rec value () = match peek () with
    | '"' -> Text (quoted ())
    | '[' -> incr at; List (listed ']' value)
    | '{' -> incr at; Table (listed '}' (fun () -> let key = quoted () in take ':'; (key, value ())))
    | 'n' -> String.iter take "null"; Null
    | _ ->
      let start = !at in
      while (match peek () with '0' .. '9' | '-' -> true | _ -> false) do incr at done;
      if !at = start then fail (Printf.sprintf "not understood at byte %d" !at);
      Number (String.sub text start (!at - start)) in
  let result = value () in
  if !at < String.length text then fail "something follows the statement";
  result

let table keys = function
  | Table entries when List.map fst entries = keys -> List.map snd entries
  | _ -> fail ("expected the keys " ^ String.concat ", " keys)
let list item = function List l -> List.map item l | _ -> fail "expected a list"
let text = function Text t -> t | _ -> fail "expected a text"

(* ---- expressions ---- *)
module Z = Big_int_Z
let z = Z.big_int_of_int
let rec power b n = if n = 0 then z 1 else Z.mult_big_int b (power b (n - 1))
(* rationals, only for literals and angles: numerator and positive denominator, in lowest terms *)
let ratio a b =
  if Z.sign_big_int b = 0 then fail "a division by zero";
  let a, b = if Z.sign_big_int b < 0 then Z.minus_big_int a, Z.minus_big_int b else a, b in
  let g = Z.gcd_big_int a b in
  { qnum = Z.div_big_int a g; qden = Z.div_big_int b g }
let plus x y =
  let top = Z.add_big_int (Z.mult_big_int x.qnum y.qden) (Z.mult_big_int y.qnum x.qden) in
  ratio top (Z.mult_big_int x.qden y.qden)
let times x y = ratio (Z.mult_big_int x.qnum y.qnum) (Z.mult_big_int x.qden y.qden)
let over x y = ratio (Z.mult_big_int x.qnum y.qden) (Z.mult_big_int x.qden y.qnum)
let whole n = ratio (z n) (z 1)
let zero x = Z.sign_big_int x.qnum = 0

let expression source =
  let at = ref 0 in
  let peek () = if !at < String.length source then source.[!at] else '\000' in
  let take c = if peek () = c then (incr at; true) else false in
  let need c = if not (take c) then fail (Printf.sprintf "expected %C in %s" c source) in
  let digits () =
    let start = !at in
    while (match peek () with '0' .. '9' -> true | _ -> false) do incr at done;
    String.sub source start (!at - start) in
  let literal () =
    let before = digits () in
    let after = if take '.' then digits () else "" in
    if before ^ after = "" then fail ("a number was expected in " ^ source);
    let exponent =
      if take 'e' || take 'E' then begin
        let sign = if take '-' then -1 else (ignore (take '+'); 1) in
        sign * int_of_string (digits ())
      end else 0 in
    let shift = exponent - String.length after in
    let value = Z.big_int_of_string (before ^ after) in
    if shift >= 0 then ratio (Z.mult_big_int value (power (z 10) shift)) (z 1)
    else ratio value (power (z 10) (- shift)) in
  let word w = let n = String.length w in
    if !at + n <= String.length source && String.sub source !at n = w then (at := !at + n; true) else false in
  (* a + b pi *)
  let rec angle () = sum (angle_term ())
  and sum (a, b) =
    if take '+' then let c, d = angle_term () in sum (plus a c, plus b d)
    else if take '-' then let c, d = angle_term () in sum (plus a (times (whole (-1)) c), plus b (times (whole (-1)) d))
    else (a, b)
  and angle_term () = product (angle_factor ())
  and product (a, b) =
    if take '*' then begin
      let c, d = angle_factor () in
      if not (zero b || zero d) then fail "a square of pi";
      product (times a c, plus (times a d) (times b c))
    end else if take '/' then begin
      let c, d = angle_factor () in
      if not (zero d) then fail "a division by pi";
      product (over a c, over b c)
    end else (a, b)
  and angle_factor () =
    if take '-' then let a, b = angle_factor () in (times (whole (-1)) a, times (whole (-1)) b)
    else if take '+' then angle_factor ()
    else if take '(' then (let v = angle () in need ')'; v)
    else if word "pi" then (whole 0, whole 1)
    else (literal (), whole 0) in
  let turn () =
    need '(';
    let a, b = angle () in
    need ')';
    if not (zero a) then fail "an angle is no multiple of pi";
    b in
  let rec expr () = sums (term ())
  and sums a = if take '+' then sums (Plus (a, term ())) else if take '-' then sums (Minus (a, term ())) else a
  and term () = products (factor ())
  and products a =
    if take '*' then products (Times (a, factor ()))
    else if take '/' then products (Over (a, factor ()))
    else a
  and factor () =
    if take '-' then Minus (Lit (whole 0), factor ())
    else if take '+' then factor ()
    else if take '(' then (let e = expr () in need ')'; e)
    else if word "sqrt" then (need '('; let e = expr () in need ')'; Root e)
    else if word "cos" then Cos (turn ())
    else if word "sin" then Sin (turn ())
    else if word "tan" then Tan (turn ())
    else Lit (literal ()) in
  let result = expr () in
  if !at < String.length source then fail ("not understood: " ^ source);
  result

(* ---- the statement ---- *)
let kind = function
  | Text "mountain" -> Mountain | Text "valley" -> Valley | Text "either" -> Either | Text "flat" -> Flat
  | _ -> fail "expected mountain, valley, either or flat"

let document source =
  match table ["creases"; "cut"; "format"; "points"; "sheet"; "target"; "unit"] (json source) with
  | [creases; cut; Text "creaseproof-pattern/1"; Table points; sheet; target; Text _] ->
    let number = Hashtbl.create 99 in
    List.iteri (fun i (name, _) -> Hashtbl.add number name i) points;
    if Hashtbl.length number <> List.length points then fail "a name stands twice";
    let name t = match Hashtbl.find_opt number (text t) with Some i -> i | None -> fail "an unknown name" in
    let place (_, pair) = match pair with
      | List [Text x; Text y] -> (expression x, expression y)
      | _ -> fail "expected two numbers" in
    let crease = function List [a; b; k] -> ((name a, name b), kind k) | _ -> fail "expected a crease" in
    let holes, outline = match table ["holes"; "outline"] sheet with
      | [h; o] -> (list (list name) h, list name o)
      | _ -> fail "sheet" in
    let loops, paths, snips = match target, cut with
      | Null, Null -> ([], [], 0)
      | target, cut ->
        let snips = match table ["snips"] cut with [Number s] -> int_of_string s | _ -> fail "snips" in
        if snips < 1 then fail "snips";
        (match table ["loops"; "paths"] target with
         | [l; p] -> (list (list name) l, list (list name) p, snips)
         | _ -> fail "target") in
    { w_points = List.map place points; w_loops = outline :: holes; w_creases = list crease creases;
      w_target_loops = loops; w_target_paths = paths; w_snips = snips }
  | _ -> fail "not a statement of a pattern"
