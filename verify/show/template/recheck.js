"use strict";
// The page asks the second checker about the evidence that it carries, and says what it answers.
(() => {
  const place = document.getElementById("recheck");
  const names = { "folds-flat": "that it folds flat", "cut-exact": "that the cut is exact" };
  function say(kind, text) {
    place.classList.add(kind);
    place.textContent = text;
  }
  function check() {
    const printed = document.querySelector(".digest code").textContent;
    let told;
    try {
      const proof = JSON.parse(document.getElementById("proof").textContent);
      told = JSON.parse(globalThis.secondChecker(proof.statement, proof.evidence));
    } catch (error) {
      told = { verdict: "undecided", reason: String(error), claims: [], statement_sha256: "" };
    }
    if (told.verdict === "undecided")
      say("unsure", `The second checker gave no answer in this browser (${told.reason}).`);
    else if (told.verdict !== "certified")
      say("no", "NO. The second checker, asked just now in this browser, does not accept the evidence in this page "
        + `(${told.verdict}: ${told.reason}). Do not rely on this page.`);
    else if (told.statement_sha256 !== printed)
      say("no", "NO. The evidence in this page is about another statement: its digest is "
        + `${told.statement_sha256}. Do not rely on this page.`);
    else
      say("yes", "Checked again just now in this browser: the second checker, which is extracted from a "
        + `machine-checked proof, accepts ${told.claims.map((c) => names[c]).join(" and ")}, `
        + `for the statement with the digest ${told.statement_sha256}.`);
  }
  setTimeout(check, 100);
})();
