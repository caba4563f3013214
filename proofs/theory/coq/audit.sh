#!/bin/sh
# What the proofs rest on: nothing left out, no axiom but those of the standard library's real numbers, and coqchk's
# word.
set -eu
cd "$(dirname "$0")"
sh build.sh

echo "words that leave a proof out:"
words='Admitted|admit|Abort|Axiom|Axioms|Conjecture|Parameter|Parameters|Unset Guard Checking|bypass_check'
if grep -nwE "$words" ./*.v; then
    echo "found, and there must be none"
    exit 1
fi
echo "none"

echo "axioms under the theorems that Audit.v names:"
nice coqc -R build Creaseproof build/Audit.v > build/assumptions.txt
grep -oE '^[A-Za-z_]+\.[A-Za-z_.]+' build/assumptions.txt | sort -u > build/axioms.txt
cat build/axioms.txt
printf '%s\n' \
    'ClassicalDedekindReals.sig_forall_dec' \
    'ClassicalDedekindReals.sig_not_dec' \
    'FunctionalExtensionality.functional_extensionality_dep' | sort -u > build/allowed.txt
if comm -23 build/axioms.txt build/allowed.txt | grep .; then
    echo "axioms beyond those of the standard library's real numbers"
    exit 1
fi

echo "coqchk:"
if ! nice coqchk -silent -o -R build Creaseproof Creaseproof.Audit > build/coqchk.txt 2>&1; then
    cat build/coqchk.txt
    exit 1
fi
sed -n '/CONTEXT SUMMARY/,$p' build/coqchk.txt

if [ -x build/count ]; then
    echo "layer orders, counted with the extracted code:"
    build/count
    expected="strips 2 6 16 50; vertices 2 8 48"
    [ "$(build/count)" = "$expected" ] || { echo "expected: $expected"; exit 1; }
fi
