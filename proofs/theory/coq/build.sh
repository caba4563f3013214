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
