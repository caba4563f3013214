(* The layer orders of strips and of vertices, counted with the extracted code (Model.v). *)
let () =
  let show counts = String.concat " " (List.map string_of_int counts) in
  Printf.printf "strips %s; vertices %s\n"
    (show (List.map Counted.strip_orders [2; 3; 4; 5])) (show (List.map Counted.vertex_orders [2; 4; 6]))
