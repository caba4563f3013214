// TRUSTED in the browser: integers of any size are the browser's own.
//Provides: integer_of_int
function integer_of_int(n) { return BigInt(n); }
//Provides: integer_add
function integer_add(a, b) { return a + b; }
//Provides: integer_sub
function integer_sub(a, b) { return a - b; }
//Provides: integer_mul
function integer_mul(a, b) { return a * b; }
//Provides: integer_compare
function integer_compare(a, b) { return a < b ? -1 : a > b ? 1 : 0; }
//Provides: integer_quotient
function integer_quotient(a, b) { return a / b; }
//Provides: integer_remainder
function integer_remainder(a, b) { return a % b; }
//Provides: integer_read
function integer_read(text) { return BigInt(text); }
//Provides: integer_write
function integer_write(a) { return String(a); }
