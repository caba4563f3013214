#!/bin/sh
# Compiles the proofs into build/ beside this file. Needs Coq 8.16 (Debian: apt-get install coq).
set -eu
cd "$(dirname "$0")"
mkdir -p build
for file in *.v; do cmp -s "$file" "build/$file" || cp "$file" build/; done
for file in build/*.v; do [ -e "$(basename "$file")" ] || rm -f "${file%.v}".*; done
cd build
{ echo "-R . Creaseproof"; ls ./*.v; } > _CoqProject
coq_makefile -f _CoqProject -o Makefile.coq
nice make --silent -j1 -f Makefile.coq

# The second checker: extracted, with its reader, as one program (Debian: libzarith-ocaml-dev).
if command -v ocamlfind >/dev/null && ocamlfind query zarith >/dev/null 2>&1; then
    cp ../second/*.ml ../count.ml .
    nice ocamlfind ocamlopt -O3 -w -a -package zarith -linkpkg \
        proved.mli proved.ml sha256.ml statement.ml evidence.ml answer.ml main.ml -o second 2>/dev/null
    nice ocamlfind ocamlopt -w -a -package zarith -linkpkg counted.mli counted.ml count.ml -o count
else
    echo "the second checker is not built: no zarith here (Debian: apt-get install libzarith-ocaml-dev)"
fi

# The same for browsers: the page of a report carries it as verify/show/template/second.js (Debian: js-of-ocaml).
if command -v js_of_ocaml >/dev/null && ocamlfind query js_of_ocaml >/dev/null 2>&1; then
    mkdir -p page
    for file in sha256 statement evidence answer; do cp "../second/$file.ml" page/; done
    cp proved.ml proved.mli ../second/page/* page/
    cd page
    nice ocamlfind ocamlc -w -a -no-check-prims -package js_of_ocaml -linkpkg \
        big_int_Z.ml proved.mli proved.ml sha256.ml statement.ml evidence.ml answer.ml page.ml -o page.byte
    nice js_of_ocaml --opt 3 integers.js page.byte -o second.js
else
    echo "the second checker is not built for browsers: no js_of_ocaml here (Debian: apt-get install js-of-ocaml)"
fi
