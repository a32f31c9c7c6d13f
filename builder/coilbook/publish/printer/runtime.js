// What printed Python needs of a browser. Each name says which part of Python it stands for.
// A list or a tuple is an array, a str a string, None null; a dict is a Dict, a set a PySet.
// --- Exceptions ---
class Exception extends Error {
  constructor(...args) {
    super(args.length ? str(args[0]) : "");
    this.args = args;
    this.name = new.target.name;
  }
  __str__() { return this.args.length ? str(this.args[0]) : ""; }
}
class ValueError extends Exception {}
class TypeError extends Exception {}
class AssertionError extends Exception {}
class ArithmeticError extends Exception {}
class OverflowError extends ArithmeticError {}
class ZeroDivisionError extends ArithmeticError {}
class LookupError extends Exception {}
class KeyError extends LookupError {}
class IndexError extends LookupError {}
// A class of core may rest on several, and a script's on one: the others stand in "also".
function isa(value, wanted) {
  if (value instanceof wanted) { return true; }
  for (let c = value && value.constructor; c && c !== Function.prototype; c =
    Object.getPrototypeOf(c)) {
    if (Object.hasOwn(c, "also") && c.also.some(
      (one) => one === wanted || one.prototype instanceof wanted)) { return true; }
  }
  return false;
}
function assert(holds, text) { if (!holds) { throw new AssertionError(...text ? [text] : []); } }

// --- Truth, equality, order ---
function truth(x) {
  if (typeof x !== "object") { return typeof x === "number" ? x !== 0 : Boolean(x); }
  if (x === null) { return false; }
  if (Array.isArray(x)) { return x.length > 0; }
  if (x instanceof Dict || x instanceof PySet) { return x.size > 0; }
  if (x instanceof Fraction) { return x.top !== 0n; }
  return x.__bool__ ? x.__bool__() : x.__len__ ? x.__len__() > 0 : true;
}
function or(x, other) { return truth(x) ? x : other(); }
function and(x, other) { return truth(x) ? other() : x; }
function eq(a, b) {
  if (a === b) { return true; }
  if (a === null || b === null || a === undefined || b === undefined) { return a == b; }
  if (a instanceof Fraction || b instanceof Fraction) {
    return fractional(a, b) && cmp(a, b) === 0;
  }
  if (typeof a === "boolean" || typeof b === "boolean") {
    return typeof b !== "string" && Number(a) === Number(b);
  }
  if (typeof a !== "object" || typeof b !== "object") { return false; }
  if (Array.isArray(a) && Array.isArray(b)) {
    return a.length === b.length && a.every((one, at) => eq(one, b[at]));
  }
  if (a instanceof Dict && b instanceof Dict) {
    return a.size === b.size && [...a].every((key) => b.has(key) && eq(a.get(key), b.get(key)));
  }
  if (a instanceof PySet && b instanceof PySet) {
    return a.size === b.size && [...a].every((one) => b.has(one));
  }
  if (a.constructor === b.constructor && a.constructor.fields) {
    return a.constructor.fields.every((name) => eq(a[name], b[name]));
  }
  const tuple = Array.isArray(a) ? b : Array.isArray(b) ? a : null;
  return tuple !== null && tuple.constructor.named === true && eq([...a], [...b]);
}
function fractional(a, b) {
  return [a, b].every((x) => x instanceof Fraction || typeof x === "number" && isFinite(x));
}
function cmp(a, b) {
  if (typeof a === "string" && typeof b === "string") { return ofStrings(a, b); }
  if (a instanceof Fraction || b instanceof Fraction) { return frac(a).cmp(frac(b)); }
  if (typeof a === "object" && a !== null && b !== null) {
    const one = ordered(a), other = ordered(b), n = Math.min(one.length, other.length);
    for (let i = 0; i < n; i++) {
      if (!eq(one[i], other[i])) { return cmp(one[i], other[i]); }
    }
    return one.length - other.length;
  }
  if (a === null || b === null || typeof a === "string" || typeof b === "string") {
    throw new TypeError("these have no order");
  }
  return a < b ? -1 : a > b ? 1 : 0;
}
function ordered(x) { return Array.isArray(x) ? x : x.constructor.fields.map((name) => x[name]); }
// By code points: a surrogate stands above what a string's units make it look.
function ofStrings(a, b) {
  const n = Math.min(a.length, b.length);
  for (let i = 0; i < n; i++) {
    const x = a.charCodeAt(i), y = b.charCodeAt(i);
    if (x !== y) {
      return x < 0xd800 || y < 0xd800 ? x - y : (x + 0x2000) % 0x10000 - (y + 0x2000) % 0x10000;
    }
  }
  return a.length - b.length;
}

// --- Numbers ---
function mod(a, b) {
  const rest = a % b;
  return rest !== 0 && rest < 0 !== b < 0 ? rest + b : rest === 0 && b < 0 ? -0 : rest === 0 ? 0
    : rest;
}
function floordiv(a, b) {
  const parts = (a - mod(a, b)) / b, down = Math.floor(parts);
  return parts - down > 0.5 ? down + 1 : down;
}
function round(x, digits) {
  if (digits === undefined || digits === null) {
    if (!Number.isFinite(x)) {
      throw new (x === x ? OverflowError : ValueError)(`${fl(x)} cannot be rounded`);
    }
    return (Math.abs(x % 1) === 0.5 ? 2 * Math.round(x / 2) : Math.round(x)) + 0;
  }
  if (!Number.isFinite(x) || x === 0) { return x; }
  if (digits >= 0) { return Number(fixed(x, Math.min(digits, 100))); }
  const unit = 10 ** -digits, rest = mod(x, unit), below = x - rest;
  return below + (rest * 2 > unit || rest * 2 === unit && (below / unit) % 2 !== 0 ? unit : 0);
}
function int(x) {
  if (typeof x !== "string") {
    if (!Number.isFinite(Number(x))) {
      throw new (x === x ? OverflowError : ValueError)(`${fl(x)} is not whole`);
    }
    return Math.trunc(Number(x)) + 0;
  }
  const text = str_strip(ascii(x));
  if (!/^[-+]?\d+(?:_\d+)*$/.test(text)) {
    throw new ValueError(`invalid literal for int() with base 10: ${repr(x)}`);
  }
  return Number(text.replaceAll("_", "")) + 0;
}
// "N" is a run of digits, which may have single low lines inside.
const FLOAT = new RegExp(
  "^[-+]?(?:N\\.?|(?=\\.\\d))(?:(?<=\\.)N|\\.N)?(?:e[-+]?N)?$".replaceAll("N", "\\d+(?:_\\d+)*"));
function float(x) {
  if (x instanceof Fraction) { return x.float(); }
  if (typeof x !== "string") { return Number(x); }
  const text = str_strip(ascii(x)).toLowerCase(), word = /^([-+]?)(nan|inf(?:inity)?)$/.exec(text);
  if (word) { return word[2] === "nan" ? NaN : word[1] === "-" ? -Infinity : Infinity; }
  if (!FLOAT.test(text)) {
    throw new ValueError(`could not convert string to float: ${repr(x)}`);
  }
  return Number(text.replaceAll("_", ""));
}
// Every run of decimal digits in Unicode is made of tens that begin with a zero.
function digit(letter) {
  let first = letter.codePointAt(0);
  while (/\p{Nd}/u.test(String.fromCodePoint(first - 1))) { first -= 1; }
  return (letter.codePointAt(0) - first) % 10;
}
function decimal(letter, other) {
  if (/^\p{Nd}$/u.test(letter)) { return digit(letter); }
  if (other === undefined) { throw new ValueError("not a decimal"); }
  return other;
}
function ascii(text) { return /[^\0-\x7f]/.test(text) ? text.replace(/\p{Nd}/gu, digit) : text; }
// From Shewchuk's partial sums: each is what the others could not hold.
function fsum(values) {
  const parts = [];
  for (let x of values) {
    let kept = 0;
    for (let y of parts) {
      if (Math.abs(x) < Math.abs(y)) { [x, y] = [y, x]; }
      const high = x + y, low = y - (high - x);
      if (low !== 0) { parts[kept++] = low; }
      x = high;
    }
    parts.length = kept;
    parts.push(x);
  }
  if (!parts.every(Number.isFinite)) { return parts.reduce((a, b) => a + b, 0); }
  return parts.reduce((a, b) => a.add(frac(b)), new Fraction(0)).float();
}
const ROOT_PI = Math.sqrt(Math.PI), STEP = 0.5, NODES = [];
for (let n = 1; n < 14; n++) { NODES.push([(n * STEP) ** 2, Math.exp(-((n * STEP) ** 2))]); }
// exp(-x²) with the square's lost digits made good.
function bell(x) {
  const near = Math.fround(x);
  return Math.exp(-near * near) * Math.exp((near - x) * (near + x));
}
// A series of terms of one sign: nothing cancels.
function erf(x) {
  const size = Math.abs(x);
  if (!(size < 1)) { return x !== x ? x : Math.sign(x) * (1 - erfc(size)); }
  let term = size, sum = size;
  for (let n = 1; term > sum * 1e-17; n++) {
    term *= 2 * size * size / (2 * n + 1);
    sum += term;
  }
  return Math.sign(x) * 2 / ROOT_PI * bell(size) * sum;
}
// The trapezoidal rule on exp(-t²)/(t² + x²), with the pole's share taken off: after Chiarella
// and Reichel, 1968 (from memory). At a step of 1/2 what is left is below exp(-4π²).
function erfc(x) {
  if (x !== x) { return x; }
  if (x < 0.5) { return 1 - erf(x); }
  if (x > 27.3) { return 0; }
  let sum = 0.5 / (x * x);
  for (const [square, weight] of NODES) { sum += weight / (square + x * x); }
  const pole = x < Math.PI / STEP ? 2 / Math.expm1(2 * Math.PI * x / STEP) : 0;
  return 2 * STEP * x / Math.PI * bell(x) * sum - pole;
}
const isClose = (a, b, { rel_tol = 1e-9, abs_tol = 0 } = {}) => a === b
  || Number.isFinite(a) && Number.isFinite(b)
  && Math.abs(a - b) <= Math.max(rel_tol * Math.max(Math.abs(a), Math.abs(b)), abs_tol);
class Fraction {
  constructor(top, bottom) {
    if (bottom !== undefined) { return frac(top).div(frac(bottom)); }
    [this.top, this.bottom] = typeof top === "bigint" ? [top, 1n] : parts(top);
  }
  static of(top, bottom) {
    const made = new Fraction(top), sign = bottom < 0n ? -1n : 1n;
    let [a, b] = [top < 0n ? -top : top, bottom * sign];
    while (b) { [a, b] = [b, a % b]; }
    [made.top, made.bottom] = [sign * top / a, sign * bottom / a];
    return made;
  }
  add(other) {
    return Fraction.of(this.top * other.bottom + other.top * this.bottom,
      this.bottom * other.bottom);
  }
  sub(other) { return this.add(other.neg()); }
  mul(other) { return Fraction.of(this.top * other.top, this.bottom * other.bottom); }
  div(other) {
    if (other.top === 0n) { throw new ZeroDivisionError("Fraction(?, 0)"); }
    return Fraction.of(this.top * other.bottom, this.bottom * other.top);
  }
  pow(n) {
    const size = BigInt(Math.abs(n)), made = Fraction.of(this.top ** size, this.bottom ** size);
    return n < 0 ? new Fraction(1).div(made) : made;
  }
  neg() { return Fraction.of(-this.top, this.bottom); }
  abs() { return this.top < 0n ? this.neg() : this; }
  cmp(other) {
    const apart = this.top * other.bottom - other.top * this.bottom;
    return apart < 0n ? -1 : apart > 0n ? 1 : 0;
  }
  // Rounded once: more bits than a number holds, the last one telling of all that follow.
  float() {
    const top = this.top < 0n ? -this.top : this.top, sign = this.top < 0n ? -1 : 1;
    if (top === 0n) { return 0; }
    const apart = top.toString(2).length - this.bottom.toString(2).length, small = apart < -1020;
    const shift = small ? 1074 : 66 - apart;
    const above = shift > 0 ? top << BigInt(shift) : top, below = shift < 0
      ? this.bottom << BigInt(-shift) : this.bottom;
    let whole = above / below;
    const rest = 2n * (above % below);
    if (!small && rest) { whole |= 1n; }
    if (small && (rest > below || rest === below && whole & 1n)) { whole += 1n; }
    const half = -shift >> 1, found = Number(whole) * 2 ** half * 2 ** (-shift - half);
    if (found === Infinity) {
      throw new OverflowError("integer division result too large for a float");
    }
    return sign * found;
  }
  valueOf() { throw new TypeError("a Fraction was taken for a number"); }
  __str__() { return this.bottom === 1n ? String(this.top) : `${this.top}/${this.bottom}`; }
}
function parts(value) {
  if (value instanceof Fraction) { return [value.top, value.bottom]; }
  if (typeof value === "string") {
    const text = str_strip(ascii(value));
    const found = /^([-+]?)(?=\d|\.\d)(\d*)(?:\/(\d+)|(?:\.(\d*))?(?:e([-+]?\d+))?)$/i.exec(text);
    if (!found) { throw new ValueError(`Invalid literal for Fraction: ${repr(value)}`); }
    const decimals = found[4] || "", power = Number(found[5] || 0) - decimals.length;
    const top = BigInt(found[2] + decimals) * (found[1] === "-" ? -1n : 1n),
      ten = 10n ** BigInt(Math.abs(power));
    if (found[3] && !BigInt(found[3])) { throw new ZeroDivisionError(`Fraction(${top}, 0)`); }
    const made = Fraction.of(power > 0 ? top * ten : top, found[3] ? BigInt(found[3]) : power < 0
      ? ten : 1n);
    return [made.top, made.bottom];
  }
  let size = Number(value), power = 0n;
  while (!Number.isInteger(size)) { [size, power] = [size * 2, power + 1n]; }
  return [BigInt(size), 1n << power];
}
function frac(x) { return x instanceof Fraction ? x : new Fraction(x); }
class date {
  constructor(year, month, day) {
    const made = new Date(0);
    made.setUTCFullYear(year, month - 1, day);
    if (year < 1 || year > 9999 || made.getUTCMonth() !== month - 1 || made.getUTCDate() !== day) {
      throw new ValueError("day is out of range for month");
    }
    [this.year, this.month, this.day] = [year, month, day];
    this.days = made.getTime() / 864e5 + 719163;
  }
  static fromisoformat(text) {
    const found = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text);
    if (!found) { throw new ValueError(`Invalid isoformat string: ${repr(text)}`); }
    return new date(...found.slice(1).map(Number));
  }
  toordinal() { return this.days; }
  isoformat() {
    return `${format(this.year, "04d")}-${format(this.month, "02d")}-${format(this.day, "02d")}`;
  }
  __str__() { return this.isoformat(); }
}
date.fields = ["year", "month", "day"];

// --- Numbers and texts written as Python writes them ---
const HALF = /^50*$/, EVEN = /[02468]\.?$/;
function fixed(x, decimals) {
  if (Math.abs(x) >= 1e21) { return `${BigInt(x)}${decimals ? "." + "0".repeat(decimals) : ""}`; }
  const all = x.toFixed(Math.min(100, decimals + 60)), end = all.indexOf(".") + 1 + decimals;
  const kept = all.slice(0, decimals ? end : end - 1);
  const sign = Object.is(x, -0) || x < 0 ? "-" : "";
  return sign + (HALF.test(all.slice(end)) && EVEN.test(kept) ? kept
    : x.toFixed(decimals)).replace("-", "");
}
// Digits and power of ten, rounded to so many places behind the first digit.
function scientific(x, places) {
  let [digits, power] = x.toExponential(places).split("e");
  const all = x.toExponential(Math.min(100, places + 60)).split("e"),
    kept = all[0].slice(0, places ? places + 2 : 1);
  if (HALF.test(all[0].slice(places + 2)) && EVEN.test(kept)) { [digits, power] = [kept, all[1]]; }
  return [digits, Number(power)];
}
function withPower(digits, power) {
  return `${digits}e${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
}
function bare(text) { return text.includes(".") ? text.replace(/\.?0+$/, "") : text; }
function general(x, precision) {
  const places = Math.max(1, precision) - 1, [digits, power] = scientific(x, places);
  return power < -4 || power > places ? withPower(bare(digits), power)
    : bare(fixed(x, places - power));
}
// The shortest digits that say this number, a float's.
function fl(x) {
  if (typeof x !== "number") { return str(x); }
  if (!Number.isFinite(x)) { return x !== x ? "nan" : x > 0 ? "inf" : "-inf"; }
  if (x === 0) { return Object.is(x, -0) ? "-0.0" : "0.0"; }
  const [digits, power] = x.toExponential().split("e"), size = Number(power);
  if (size < -4 || size >= 16) { return withPower(digits, size); }
  const text = size < 0 ? x.toFixed(Math.min(100, digits.replace(/[-.]/g, "").length - 1 - size))
    : String(x);
  return text.includes(".") ? text : text + ".0";
}
function str(x) {
  if (typeof x === "string") { return x; }
  if (x === null || x === undefined) { return "None"; }
  if (typeof x === "boolean") { return x ? "True" : "False"; }
  if (typeof x === "number" && !Number.isFinite(x)) { return fl(x); }
  return x.__str__ ? x.__str__() : typeof x === "number"
    ? String(BigInt.asIntN(1100, BigInt(Math.trunc(x)))) : String(x);
}
const ESCAPES = { "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t" };
function repr(x) {
  if (typeof x !== "string") { return str(x); }
  const mark = x.includes("'") && !x.includes('"') ? '"' : "'";
  const text = x.replace(/[\\\n\r\t\p{C}\p{Zl}\p{Zp}\p{Zs}]/gu, (one) => one === " " ? one
    : ESCAPES[one] || escaped(one));
  return mark + (mark === "'" ? text.replaceAll("'", "\\'") : text) + mark;
}
function escaped(letter) {
  const code = letter.codePointAt(0), hex = code.toString(16);
  return code < 256 ? "\\x" + hex.padStart(2, "0") : code < 65536 ? "\\u" + hex.padStart(4, "0")
    : "\\U" + hex.padStart(8, "0");
}
const SPEC = /^(?:(.)?([<>=^]))?([-+ ])?(0)?(\d+)?(,)?(?:\.(\d+))?([a-z%])?$/su;
function format(value, spec) {
  const [, fill, align, sign, zero, width, comma, precision, type] = SPEC.exec(spec);
  const number = typeof value === "number";
  let text = number ? numeric(Math.abs(value), type, precision) : str(value), front = "";
  if (!number && precision !== undefined) { text = sliced(text, 0, Number(precision)); }
  if (comma) { text = text.replace(/^\d+/, (whole) => whole.replace(/\B(?=(\d{3})+$)/g, ",")); }
  if (number) {
    front = value < 0 || Object.is(value, -0) && type && type !== "d" ? "-" : sign && sign !== "-"
      ? sign : "";
  }
  const room = Number(width || 0) - size(text) - front.length,
    space = (fill || (zero && number ? "0" : " "));
  const side = align || (zero && number ? "=" : number ? ">" : "<");
  if (room <= 0) { return front + text; }
  if (side === "=") { return front + space.repeat(room) + text; }
  const left = side === ">" ? room : side === "<" ? 0 : room >> 1;
  return space.repeat(left) + front + text + space.repeat(room - left);
}
function numeric(x, type, precision) {
  if (!Number.isFinite(x)) { return x !== x ? "nan" : "inf"; }
  const places = precision === undefined ? 6 : Number(precision);
  if (type === "f") { return fixed(x, places); }
  if (type === "%") { return fixed(x * 100, places) + "%"; }
  if (type === "e") { return withPower(...scientific(x, places)); }
  if (type === "g" || precision !== undefined) { return general(x, places); }
  return str(x);
}
function str_format(text, values) {
  return text.replace(/\{\{|\}\}|\{(\w*)(?::([^}]*))?\}/g, (all, name, spec) => {
    if (name === undefined) { return all[0]; }
    const value = values.at(name);
    return spec ? format(value, spec) : str(value);
  });
}

// --- Texts ---
const SPACE =
  "\\t-\\r\\x1c-\\x1f \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000";
const SPACES = new RegExp(`[${SPACE}]+`, "g"), AHEAD = new RegExp(`^[${SPACE}]+`);
const BEHIND = new RegExp(`[${SPACE}]+$`);
const WIDE = /[\ud800-\udfff]/;
// Python counts letters, a script halves of some.
function size(text) { return WIDE.test(text) ? [...text].length : text.length; }
function sliced(text, from, to) {
  return WIDE.test(text) ? [...text].slice(from, to).join("") : text.slice(from, to);
}
function trimmed(text, letters, ahead, behind) {
  if (letters === undefined || letters === null) {
    const left = ahead ? text.replace(AHEAD, "") : text;
    return behind ? left.replace(BEHIND, "") : left;
  }
  const all = [...text], off = new Set(letters);
  let from = 0, to = all.length;
  while (ahead && from < to && off.has(all[from])) { from++; }
  while (behind && to > from && off.has(all[to - 1])) { to--; }
  return all.slice(from, to).join("");
}
function str_split(text, mark, most = -1) {
  if (mark === undefined || mark === null) {
    const left = text.replace(AHEAD, "");
    if (most < 0) { return left.replace(BEHIND, "").split(SPACES).filter(Boolean); }
    const found = left.split(SPACES), rest = [];
    for (let at = left, n = 0; n < most && at; n++) {
      rest.push(found[n]);
      at = at.slice(found[n].length).replace(AHEAD, "");
      if (n === most - 1 && at) { rest.push(at); }
    }
    return rest;
  }
  const all = text.split(mark);
  return most < 0 || all.length <= most + 1 ? all
    : [...all.slice(0, most), all.slice(most).join(mark)];
}
function any(mark, test) { return Array.isArray(mark) ? mark.some(test) : test(mark); }
const FOLDS = { "ı": "ı", "ẞ": "ss" };
const every = (kind) => (text) => text !== "" && kind.test(text);
const str_strip = (text, letters) => trimmed(text, letters, true, true);
const str_lstrip = (text, letters) => trimmed(text, letters, true, false);
const str_rstrip = (text, letters) => trimmed(text, letters, false, true);
const str_splitlines = (text) => text
  .replace(/(?:\r\n|[\n\v\f\r\x1c-\x1e\x85\u2028\u2029])$/, "")
  .split(/\r\n|[\n\v\f\r\x1c-\x1e\x85\u2028\u2029]/)
  .filter((_, at, all) => all.length > 1 || text !== "");
const str_join = (mark, parts) => [...parts].join(mark);
const str_replace = (text, one, other) => text.split(one).join(other);
const str_startswith = (text, mark) => any(mark, (one) => text.startsWith(one));
const str_endswith = (text, mark) => any(mark, (one) => text.endsWith(one));
const str_removeprefix = (text, mark) => text.startsWith(mark) ? text.slice(mark.length) : text;
const str_removesuffix = (text, mark) => mark && text.endsWith(mark) ? text.slice(0, -mark.length)
  : text;
const str_lower = (text) => text.toLowerCase();
const str_upper = (text) => text.toUpperCase();
const str_casefold = (text) => /^[\0-\x7f]*$/.test(text) ? text.toLowerCase()
  : [...text].map(
    (one) => FOLDS[one] || one.toUpperCase().toLowerCase().replaceAll("ς", "σ")).join("");
const str_capitalize = (text) => sliced(text, 0, 1).toUpperCase() + sliced(text, 1).toLowerCase();
const str_partition = (text, mark) => {
  const at = text.indexOf(mark);
  return at < 0 ? [text, "", ""] : [text.slice(0, at), mark, text.slice(at + mark.length)];
};
const str_rpartition = (text, mark) => {
  const at = text.lastIndexOf(mark);
  return at < 0 ? ["", "", text] : [text.slice(0, at), mark, text.slice(at + mark.length)];
};
const str_find = (text, part) => {
  const at = text.indexOf(part);
  return at < 0 ? at : size(text.slice(0, at));
};
const str_count = (text, part) => text.split(part).length - 1;
const str_zfill = (text, width) => text.replace(/^([-+]?)(.*)$/su, (_, sign, rest) =>
  sign + "0".repeat(Math.max(0, width - size(text))) + rest);
const str_ljust = (text, width, fill = " ") => text + fill.repeat(Math.max(0, width - size(text)));
const str_rjust = (text, width, fill = " ") => fill.repeat(Math.max(0, width - size(text))) + text;
const str_isdecimal = every(/^\p{Nd}+$/u);
const str_isalpha = every(/^\p{L}+$/u);
const str_isspace = every(new RegExp(`^[${SPACE}]+$`));
const str_isascii = (text) => /^[\0-\x7f]*$/.test(text);
const str_isupper = (text) => /[\p{Uppercase}\p{Lt}]/u.test(text) &&
  !/[\p{Lowercase}\p{Lt}]/u.test(text);
const str_islower = (text) => /\p{Lowercase}/u.test(text) && !/[\p{Uppercase}\p{Lt}]/u.test(text);
const str_translate = (text, table) => {
  let made = "";
  for (const one of text) { made += table.get(one, one) ?? ""; }
  return made;
};
const WORD = "\\p{L}\\p{N}_", EDGE = `(?:(?<=[${WORD}])(?![${WORD}])|(?<![${WORD}])(?=[${WORD}]))`;
const WIDER = { d: "\\p{Nd}", D: "\\P{Nd}", w: `[${WORD}]`, W: `[^${WORD}]`, b: EDGE };
function browsers(source, wide) {
  let inside = false;
  return source.replace(/\\(.)|\(\?P<|\(\?P=(\w+)\)|[[\]$]/gsu, (all, letter, name) => {
    if (all === "[" || all === "]") {
      inside = all === "[" || false;
      return all;
    }
    if (all === "$") { return inside ? all : "(?=\\n?(?![^]))"; }
    if (all === "(?P<") { return "(?<"; }
    if (name) { return `\\k<${name}>`; }
    if (letter === "s" || letter === "S") {
      return inside ? SPACE : `[${letter === "S" ? "^" : ""}${SPACE}]`;
    }
    if (letter === "Z") { return "(?![^])"; }
    if (letter === "A") { return "(?<![^])"; }
    if (wide && letter === "w" && inside) { return WORD; }
    if (wide && WIDER[letter]) { return WIDER[letter]; }
    return /[\w\\^$.*+?()[\]{}|/-]/.test(letter) && !(letter === "-" && !inside) ? all : letter;
  });
}
class Pattern {
  constructor(source, ignore) {
    this.pattern = source;
    this.flags = ignore ? "i" : "";
    this.made = new Map();
  }
  at(how, text) {
    const wide = /[^\0-\x7f]/.test(text), key = how + wide;
    let made = this.made.get(key);
    if (!made) {
      const source = browsers(this.pattern, wide), flags = this.flags + (wide ? "u" : "") +
        (how === "search" ? "g" : "y");
      made = new RegExp(how === "fullmatch" ? `(?:${source})(?![^])` : source, flags);
      this.made.set(key, made);
    }
    return made;
  }
  run(how, text, from = 0) {
    const made = this.at(how, text);
    made.lastIndex = from;
    const found = made.exec(text);
    return found && new Match(found);
  }
  match(text) { return this.run("match", text); }
  fullmatch(text) { return this.run("fullmatch", text); }
  search(text) { return this.run("search", text); }
  finditer(text) {
    const found = [], made = this.at("search", text);
    made.lastIndex = 0;
    for (const one of text.matchAll(made)) { found.push(new Match(one)); }
    return found;
  }
  findall(text) {
    return this.finditer(text).map((one) => one.all.length > 2 ? one.groups("")
      : one.group(one.all.length - 1) ?? "");
  }
  sub(other, text) {
    let done = 0, made = "";
    for (const one of this.finditer(text)) {
      made += text.slice(done, one.all.index) + (typeof other === "string" ? other.replace(
        /\\(?:g<(\w+)>|(\d))/g, (_, name, place) => one.group(name ?? place) ?? "") : other(one));
      done = one.all.index + one.all[0].length;
    }
    return made + text.slice(done);
  }
  split(text) {
    const found = [];
    let done = 0;
    for (const one of this.finditer(text)) {
      found.push(text.slice(done, one.all.index), ...one.groups());
      done = one.all.index + one.all[0].length;
    }
    return [...found, text.slice(done)];
  }
}
class Match {
  constructor(all) { this.all = all; }
  group(...names) {
    const found = (names.length ? names : [0]).map((name) => {
      const named = this.all.groups && name in this.all.groups ? this.all.groups[name]
        : this.all[name];
      if (named === undefined && !(name in this.all) &&
        !(this.all.groups && name in this.all.groups)) {
        throw new IndexError("no such group");
      }
      return named ?? null;
    });
    return names.length > 1 ? found : found[0];
  }
  groups(other = null) { return this.all.slice(1).map((one) => one ?? other); }
  groupdict() {
    return new Dict(
      Object.entries(this.all.groups || {}).map(([name, one]) => [name, one ?? null]));
  }
  place(name) { return this.all.index + (name ? this.all[0].indexOf(this.group(name)) : 0); }
  start() { return size(this.all.input.slice(0, this.all.index)); }
  end() { return size(this.all.input.slice(0, this.all.index + this.all[0].length)); }
  span() { return [this.start(), this.end()]; }
}
const patterns = new Map();
function re(source, ignore) {
  const key = (ignore ? "i" : "") + ":" + source;
  if (!patterns.has(key)) { patterns.set(key, new Pattern(source, ignore)); }
  return patterns.get(key);
}

// --- Dicts and sets: a key that is a tuple, or an object with fields, is the same where it says
// the same ---
function code(key) {
  if (typeof key !== "object" || key === null) {
    return typeof key === "boolean" ? Number(key) : key ?? null;
  }
  /* A set is what it holds, in whatever order that came. */
  if (key instanceof PySet) { return `\0{${[...key].map(part).sort().join("\0,")}\0}`; }
  const fields = key.constructor.fields;
  if (!Array.isArray(key) && !fields) { return key; }
  const parts = fields ? fields.map((name) => key[name]) : key;
  const kind = fields && !key.constructor.named ? key.constructor.name : "";
  return `\0(${kind}${parts.map(part).join("\0,")}\0)`;
}
function part(one) {
  return typeof one === "string" ? "s" + one : typeof one === "number" ? "n" + (one + 0)
    : String(code(one));
}
class Dict {
  constructor(pairs) {
    this.map = new Map();
    this.asked = null;
    if (pairs) { for (const [key, value] of pairs) { this.set(key, value); } }
  }
  get size() { return this.map.size; }
  set(key, value) {
    const coded = code(key);
    if (coded !== key && typeof key === "object" && key !== null) {
      if (this.asked === null) { this.asked = new Map(); }
      if (!this.asked.has(coded)) { this.asked.set(coded, key); }
    }
    this.map.set(coded, value);
  }
  has(key) { return this.map.has(code(key)); }
  get(key, other = null) {
    const found = this.map.get(code(key));
    return found === undefined ? other : found;
  }
  at(key) {
    const found = this.map.get(code(key));
    if (found === undefined) { return this.missing(key); }
    return found;
  }
  missing(key) { throw new KeyError(repr(key)); }
  setdefault(key, other = null) {
    const found = this.map.get(code(key));
    if (found === undefined) { this.set(key, other); }
    return found === undefined ? other : found;
  }
  pop(key, other) {
    const coded = code(key), found = this.map.get(coded);
    if (found === undefined && other === undefined) { this.missing(key); }
    this.map.delete(coded);
    return found === undefined ? other : found;
  }
  update(other) { for (const [key, value] of pairs(other)) { this.set(key, value); } }
  or(other) {
    const made = this.copy();
    made.update(other);
    return made;
  }
  copy() { return new Dict(this.items()); }
  clear() { this.map.clear(); }
  keys() {
    return this.asked === null ? this.map.keys() : [...this.map.keys()].map(
      (key) => this.asked.get(key) ?? key)[Symbol.iterator]();
  }
  values() { return this.map.values(); }
  items() {
    return this.asked === null ? this.map.entries() : [...this.map].map(
      ([key, value]) => [this.asked.get(key) ?? key, value])[Symbol.iterator]();
  }
  [Symbol.iterator]() { return this.keys(); }
}
class Counter extends Dict {
  constructor(values = []) {
    super();
    for (const one of values) { this.set(one, this.get(one, 0) + 1); }
  }
  missing() { return 0; }
  most_common(n) { return sorted(this.items(), ([, count]) => -count).slice(0, n ?? undefined); }
}
function pairs(x) { return x instanceof Dict ? x.items() : x; }
function dict(x) { return new Dict(pairs(x)); }
class PySet {
  constructor(values) {
    this.held = new Dict();
    if (values) { for (const one of values) { this.held.set(one, one); } }
  }
  get size() { return this.held.size; }
  has(one) { return this.held.has(one); }
  add(one) { if (!this.held.has(one)) { this.held.set(one, one); } }
  discard(one) { this.held.pop(one, null); }
  remove(one) { this.held.pop(one); }
  pop() {
    const [one] = this.held.keys();
    this.held.pop(one);
    return one;
  }
  update(other) { for (const one of other) { this.add(one); } }
  copy() { return new PySet(this); }
  clear() { this.held.clear(); }
  union(...others) { return new PySet([this, ...others].flatMap((one) => [...one])); }
  intersection(other) { return new PySet([...this].filter((one) => contains(one, other))); }
  difference(other) { return new PySet([...this].filter((one) => !contains(one, other))); }
  symmetric_difference(other) { return this.difference(other).union(other.difference(this)); }
  issubset(other) { return [...this].every((one) => contains(one, other)); }
  issuperset(other) { return [...other].every((one) => this.has(one)); }
  isdisjoint(other) { return ![...other].some((one) => this.has(one)); }
  [Symbol.iterator]() { return this.held.keys(); }
}

// --- Lists, and whatever can be gone through ---
const list_append = (list, one) => { list.push(one); };
const list_extend = (list, others) => { for (const one of [...others]) { list.push(one); } };
const list_insert = (list, at, one) => { list.splice(at, 0, one); };
const list_pop = (list, at = -1) => {
  if (!list.length) { throw new IndexError("pop from empty list"); }
  return list.splice(at, 1)[0];
};
const list_remove = (list, one) => { list.splice(list_index(list, one), 1); };
const list_index = (list, one) => {
  const at = list.findIndex((other) => eq(other, one));
  if (at < 0) { throw new ValueError(`${repr(one)} is not in list`); }
  return at;
};
const list_count = (list, one) => list.reduce((found, other) => found + (eq(other, one) ? 1 : 0),
  0);
const list_sort = (list, key, reverse) => {
  list.splice(0, list.length, ...sorted(list, key, reverse));
};
const list_reverse = (list) => { list.reverse(); };
const list_copy = (list) => [...list];
const list_clear = (list) => { list.length = 0; };
function len(x) {
  if (typeof x === "string") { return size(x); }
  return Array.isArray(x) ? x.length : x.size ?? (x.__len__ ? x.__len__() : [...x].length);
}
function at(x, place) {
  if (Array.isArray(x)) { return x[place < 0 ? x.length + place : place]; }
  if (x instanceof Dict) { return x.at(place); }
  if (x instanceof Match) { return x.group(place); }
  if (typeof x === "string") { return sliced(x, place, place === -1 ? undefined : place + 1); }
  return x.__getitem__ ? x.__getitem__(place) : at([...x], place);
}
function put(x, place, value) {
  if (Array.isArray(x)) {
    x[place < 0 ? x.length + place : place] = value;
  } else {
    x.set(place, value);
  }
}
function remove(x, place) { if (Array.isArray(x)) { x.splice(place, 1); } else { x.pop(place); } }
function slice(x, from, to, step = 1) {
  if (step === 1) {
    return typeof x === "string" ? sliced(x, from ?? 0, to ?? undefined)
      : (Array.isArray(x) ? x : [...x]).slice(from ?? 0, to ?? undefined);
  }
  const all = [...x], n = all.length, least = step < 0 ? -1 : 0, made = [];
  const end = (place, other) => place === null || place === undefined ? other
    : Math.min(Math.max(place < 0 ? place + n : place, least), n + least);
  const stop = end(to, step < 0 ? -1 : n);
  for (let i = end(from, step < 0 ? n - 1 : 0); step < 0 ? i > stop : i < stop; i += step) {
    made.push(all[i]);
  }
  return typeof x === "string" ? made.join("") : made;
}
function contains(one, x) {
  if (typeof x === "string") { return x.includes(one); }
  if (x instanceof Dict || x instanceof PySet) { return x.has(one); }
  if (x.__contains__) { return x.__contains__(one); }
  for (const other of x) { if (eq(other, one)) { return true; } }
  return false;
}
function add(a, b) {
  if (typeof a === "number" && typeof b === "number" || typeof a === "string" &&
    typeof b === "string") { return a + b; }
  if (Array.isArray(a)) { return [...a, ...b]; }
  if (a instanceof Fraction || b instanceof Fraction) { return frac(a).add(frac(b)); }
  return a.__add__ ? a.__add__(b) : a + b;
}
function times(x, n) {
  return typeof x === "string" ? x.repeat(Math.max(0, n)) : Array(Math.max(0, n)).fill(x).flat();
}
function min(values, key, other) { return first(values, key, other, -1); }
function max(values, key, other) { return first(values, key, other, 1); }
function first(values, key, other, way) {
  let best, mark, some = false;
  for (const one of values) {
    const found = key ? key(one) : one;
    if (!some ||
      (typeof found === "number" && typeof mark === "number" ? (found - mark) * way > 0 ||
      found !== mark && (found > mark) === (way > 0) && (found < mark) === (way < 0)
      : cmp(found, mark) * way > 0)) {
      [best, mark, some] = [one, found, true];
    }
  }
  if (!some && other === undefined) { throw new ValueError("iterable argument is empty"); }
  return some ? best : other;
}
function min2(a, b) { return b < a ? b : a; }
function max2(a, b) { return b > a ? b : a; }
function sum(values, from = 0) {
  let total = from;
  for (const one of values) { total = add(total, one); }
  return total;
}
function sorted(values, key, reverse) {
  const way = reverse ? -1 : 1, marked = Array.from(values, (one) => [key ? key(one) : one, one]);
  return marked.sort(([a], [b]) => way * cmp(a, b)).map(([, one]) => one);
}
function zip(...several) {
  const lists = several.map((one) => Array.isArray(one) ? one : [...one]),
    n = Math.min(...lists.map((one) => one.length));
  return Array.from({ length: n }, (_, i) => lists.map((one) => one[i]));
}
function enumerate(values, from = 0) { return Array.from(values, (one, i) => [i + from, one]); }
function range(from, to, step = 1) {
  const made = [];
  for (let i = from; step > 0 ? i < to : i > to; i += step) { made.push(i); }
  return made;
}
function combinations(values, n) {
  const all = [...values];
  if (n === 0) { return [[]]; }
  return all.flatMap(
    (one, i) => combinations(all.slice(i + 1), n - 1).map((rest) => [one, ...rest]));
}
function groupby(values, key) {
  const made = [];
  for (const one of values) {
    const mark = key ? key(one) : one, last = made.at(-1);
    if (last && eq(last[0], mark)) { last[1].push(one); } else { made.push([mark, [one]]); }
  }
  return made;
}
function next(values, other) {
  for (const one of values) { return one; }
  if (other === undefined) { throw new Exception("StopIteration"); }
  return other;
}

// --- Objects and functions ---
function replace(x, changes) {
  const fields = x.constructor.made;
  return fields ? new x.constructor(
    ...fields.map((name) => name in changes ? changes[name] : x[name]))
    : Object.assign({}, x, changes);
}
function cached(work, most) {
  let known = new Map();
  return function (...args) {
    const key = args.length === 1 ? code(args[0]) : code(args);
    let found = known.get(key);
    if (found === undefined) {
      if (known.size >= most) { known = new Map(); }
      found = work(...args);
      known.set(key, found);
    }
    return found;
  };
}
/* Where a value goes in an ordered list: before its likes, or behind them. */
function bisectLeft(values, value, low = 0, high = values.length) {
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] < value) { low = middle + 1; } else { high = middle; }
  }
  return low;
}
function bisectRight(values, value, low = 0, high = values.length) {
  while (low < high) {
    const middle = (low + high) >> 1;
    if (value < values[middle]) { high = middle; } else { low = middle + 1; }
  }
  return low;
}
