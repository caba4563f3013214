(* SHA-256 (FIPS 180-4), on 32-bit integers so that it means the same in a browser. *)
let k = [|
  0x428a2f98l; 0x71374491l; 0xb5c0fbcfl; 0xe9b5dba5l; 0x3956c25bl; 0x59f111f1l; 0x923f82a4l; 0xab1c5ed5l;
  0xd807aa98l; 0x12835b01l; 0x243185bel; 0x550c7dc3l; 0x72be5d74l; 0x80deb1fel; 0x9bdc06a7l; 0xc19bf174l;
  0xe49b69c1l; 0xefbe4786l; 0x0fc19dc6l; 0x240ca1ccl; 0x2de92c6fl; 0x4a7484aal; 0x5cb0a9dcl; 0x76f988dal;
  0x983e5152l; 0xa831c66dl; 0xb00327c8l; 0xbf597fc7l; 0xc6e00bf3l; 0xd5a79147l; 0x06ca6351l; 0x14292967l;
  0x27b70a85l; 0x2e1b2138l; 0x4d2c6dfcl; 0x53380d13l; 0x650a7354l; 0x766a0abbl; 0x81c2c92el; 0x92722c85l;
  0xa2bfe8a1l; 0xa81a664bl; 0xc24b8b70l; 0xc76c51a3l; 0xd192e819l; 0xd6990624l; 0xf40e3585l; 0x106aa070l;
  0x19a4c116l; 0x1e376c08l; 0x2748774cl; 0x34b0bcb5l; 0x391c0cb3l; 0x4ed8aa4al; 0x5b9cca4fl; 0x682e6ff3l;
  0x748f82eel; 0x78a5636fl; 0x84c87814l; 0x8cc70208l; 0x90befffal; 0xa4506cebl; 0xbef9a3f7l; 0xc67178f2l |]

let ( +% ) = Int32.add
let ( ^% ) = Int32.logxor
let ( &% ) = Int32.logand
let right x n = Int32.logor (Int32.shift_right_logical x n) (Int32.shift_left x (32 - n))
let shift = Int32.shift_right_logical

let padded text =
  let length = String.length text in
  let zeros = (119 - (length mod 64)) mod 64 in
  let tail = Bytes.make 8 '\000' in
  (* a text is shorter than 2^28 bytes: its number of bits is in the last four bytes *)
  List.iteri (fun i s -> Bytes.set tail (4 + i) (Char.chr ((length * 8) lsr s land 255))) [24; 16; 8; 0];
  text ^ "\128" ^ String.make zeros '\000' ^ Bytes.to_string tail

let word text at =
  let byte i = Int32.of_int (Char.code text.[at + i]) in
  List.fold_left (fun x i -> Int32.logor (Int32.shift_left x 8) (byte i)) 0l [0; 1; 2; 3]

let hex text =
  let text = padded text in
  let h =
    [| 0x6a09e667l; 0xbb67ae85l; 0x3c6ef372l; 0xa54ff53al; 0x510e527fl; 0x9b05688cl; 0x1f83d9abl; 0x5be0cd19l |] in
  let w = Array.make 64 0l in
  for block = 0 to String.length text / 64 - 1 do
    for i = 0 to 15 do w.(i) <- word text (64 * block + 4 * i) done;
    for i = 16 to 63 do
      let x = w.(i - 15) and y = w.(i - 2) in
      let s0 = right x 7 ^% right x 18 ^% shift x 3 and s1 = right y 17 ^% right y 19 ^% shift y 10 in
      w.(i) <- w.(i - 16) +% s0 +% w.(i - 7) +% s1
    done;
    let v = Array.copy h in
    for i = 0 to 63 do
      let e = v.(4) and a = v.(0) in
      let s1 = right e 6 ^% right e 11 ^% right e 25 in
      let choice = (e &% v.(5)) ^% (Int32.lognot e &% v.(6)) in
      let t1 = v.(7) +% s1 +% choice +% k.(i) +% w.(i) in
      let s0 = right a 2 ^% right a 13 ^% right a 22 in
      let majority = (a &% v.(1)) ^% (a &% v.(2)) ^% (v.(1) &% v.(2)) in
      let t2 = s0 +% majority in
      for j = 7 downto 1 do v.(j) <- v.(j - 1) done;
      v.(4) <- v.(4) +% t1;
      v.(0) <- t1 +% t2
    done;
    Array.iteri (fun i x -> h.(i) <- h.(i) +% x) v
  done;
  String.concat "" (Array.to_list (Array.map (Printf.sprintf "%08lx") h))
