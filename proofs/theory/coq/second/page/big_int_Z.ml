(* TRUSTED in the browser, in zarith's place: the browser's own integers (integers.js). *)
type big_int

external big_int_of_int : int -> big_int = "integer_of_int"
external add_big_int : big_int -> big_int -> big_int = "integer_add"
external sub_big_int : big_int -> big_int -> big_int = "integer_sub"
external mult_big_int : big_int -> big_int -> big_int = "integer_mul"
external compare_big_int : big_int -> big_int -> int = "integer_compare"
external quotient : big_int -> big_int -> big_int = "integer_quotient"
external remainder : big_int -> big_int -> big_int = "integer_remainder"
external read : Js_of_ocaml.Js.js_string Js_of_ocaml.Js.t -> big_int = "integer_read"
external write : big_int -> Js_of_ocaml.Js.js_string Js_of_ocaml.Js.t = "integer_write"

let zero_big_int = big_int_of_int 0
let unit_big_int = big_int_of_int 1
let sign_big_int a = compare_big_int a zero_big_int
let eq_big_int a b = compare_big_int a b = 0
let le_big_int a b = compare_big_int a b <= 0
let max_big_int a b = if le_big_int a b then b else a
let succ_big_int a = add_big_int a unit_big_int
let minus_big_int a = sub_big_int zero_big_int a
let abs_big_int a = if sign_big_int a < 0 then minus_big_int a else a
let add_int_big_int n a = add_big_int (big_int_of_int n) a
let mult_int_big_int n a = mult_big_int (big_int_of_int n) a

(* the remainder is not negative *)
let quomod_big_int a b =
  let q = quotient a b and r = remainder a b in
  if sign_big_int r >= 0 then (q, r)
  else if sign_big_int b > 0 then (sub_big_int q unit_big_int, add_big_int r b)
  else (add_big_int q unit_big_int, sub_big_int r b)

let div_big_int a b = fst (quomod_big_int a b)
let mod_big_int a b = snd (quomod_big_int a b)
let rec gcd_big_int a b = if sign_big_int b = 0 then abs_big_int a else gcd_big_int b (remainder a b)
let big_int_of_string text = read (Js_of_ocaml.Js.string text)
let string_of_big_int a = Js_of_ocaml.Js.to_string (write a)
