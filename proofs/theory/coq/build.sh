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
    cp ../second/*.ml .
    nice ocamlfind ocamlopt -O3 -w -a -package zarith -linkpkg \
        proved.mli proved.ml sha256.ml statement.ml evidence.ml answer.ml main.ml -o second 2>/dev/null
else
    echo "the second checker is not built: no zarith here (Debian: apt-get install libzarith-ocaml-dev)"
fi
