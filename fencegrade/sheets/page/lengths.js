"use strict";
// Lengths as a tape reads, in and out; inside the pages a length is a number of inches.

const fractionOf = (parts, of) => {
  const whole = Math.floor(parts / of);
  let part = parts % of;
  while (part && part % 2 === 0) {
    part /= 2;
    of /= 2;
  }
  if (!part) return String(whole);
  return (whole ? whole + "-" : "") + part + "/" + of;
};
const fractionText = (sixteenths) => fractionOf(sixteenths, 16);
const nearest = (value) => Math.sign(value) * Math.floor(Math.abs(value) + 0.5 + 1e-6) || 0;
const lengthText = (inches, metric) => {
  if (metric) return nearest(inches * 25.4) + " mm";
  const count = nearest(inches * 16);
  return (count < 0 ? "-" : "") + fractionText(Math.abs(count)) + " in";
};
const stationText = (inches, metric) => {
  if (metric) return (nearest(inches * 25.4) / 1000).toFixed(3) + " m";
  const count = nearest(inches * 16);
  const size = Math.abs(count);
  const sign = count < 0 ? "-" : "";
  if (size < 192) return sign + fractionText(size) + '"';
  const rest = size % 192;
  const zero = rest < 16 && rest % 16 ? "0-" : "";
  return sign + Math.floor(size / 192) + "' " + zero + fractionText(rest) + '"';
};

// Whole tape marks as text: marks of 1/8 in or finer halvings, or of whole millimetres and tenths.
const marksText = (count, mark, metric) => {
  if (metric) return String(Math.round(count * mark * 25.4 * 1000) / 1000) + " mm";
  return fractionOf(Math.round(Math.abs(count * mark) * 128), 128) + " in";
};

// A plain number, or whole inches and a fraction: "31", "31.5", "31,5", "31 1/2", "1/2". NaN for anything else: three
// digits after a comma may be thousands, and no length here is negative.
const numberOf = (typed) => {
  const text = typed.replace(/,(?=(?:\d\d?|\d{4,})\s*$)/, ".");
  const found = /^(?!\s*-)\s*(?:(\d+(?:\.\d*)?|\.\d+))?(?:[ -]*(\d+)\/(\d+))?\s*$/.exec(text);
  if (!found || !found[0].trim()) return NaN;
  if (found[2] && (found[1] || "").includes(".")) return NaN;
  if (found[1] && found[2] && !/\d[ -]+\d+\//.test(text)) return NaN;
  const part = found[2] ? Number(found[2]) / Number(found[3]) : 0;
  return part < 1 ? Number(found[1] || 0) + part : NaN;
};
const PER_UNIT = { ft: 12, "'": 12, in: 1, '"': 1, m: 1000 / 25.4, cm: 10 / 25.4, mm: 1 / 25.4 };
// A length with its units, or a bare number of the unit given; after feet come inches, less than a foot of them, with
// their mark or without. NaN where it cannot be read.
const inchesOf = (text, bare = "") => {
  const parts = [...text.trim().matchAll(/([\d.,/ -]+?)\s*(ft|in|mm|cm|m|'|")\s*/gy)];
  const read = parts.reduce((size, part) => size + part[0].length, 0);
  const rest = text.trim().slice(read);
  const inFeet = parts.length && PER_UNIT[parts[0][2]] === 12;
  if (inFeet && parts.length === 1 && !Number.isNaN(numberOf(rest))) return inchesOf(text + '"');
  const feetFirst = inFeet && parts.length === 2 && PER_UNIT[parts[1][2]] === 1 && numberOf(parts[1][1]) < 12;
  if (!parts.length) return bare ? numberOf(rest) * PER_UNIT[bare] : NaN;
  if (rest || (parts.length > 1 && !feetFirst)) return NaN;
  return parts.reduce((sum, part) => sum + numberOf(part[1]) * PER_UNIT[part[2]], 0);
};
