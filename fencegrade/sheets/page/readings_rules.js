// Doubts about readings as they are taken: the judgement of fencegrade/ground, by the same table of rules.
// A reading here is {station, drop, side}: inches, side "before", "after" or "".

const median = (values) => {
  const sorted = Array.from(values).sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
};

const swapped = (value) => {
  const rounded = Math.round(value * 1e6) / 1e6;
  const digits = String(Math.floor(rounded));
  const part = rounded - Math.floor(rounded);
  const found = [];
  for (let k = 0; k + 1 < digits.length; k++) {
    if (digits[k] !== digits[k + 1])
      found.push(Number(digits.slice(0, k) + digits[k + 1] + digits[k] + digits.slice(k + 2)) + part);
  }
  return found;
};
const meant = (raw, slip) => {
  if (slip.kind === "add") return [raw + slip.by];
  if (slip.kind === "scale") return [raw * slip.by];
  if (slip.kind === "tenths") {
    const feet = Math.floor(raw / 12);
    return [feet * 12 + (raw - feet * 12) * slip.by];
  }
  return swapped(Math.abs(raw) / slip.by).map((other) => Math.sign(raw) * other * slip.by);
};
const slipsOf = (raw, rules) => rules.slips.flatMap((slip) => meant(raw, slip).map((value) => [slip.name, value]));

const departures = (x, z) => {
  const n = x.length;
  const result = x.map((_, i) => {
    if (i === 0 || i === n - 1) return 0;
    const part = (x[i] - x[i - 1]) / (x[i + 1] - x[i - 1]);
    return z[i] - (z[i - 1] + part * (z[i + 1] - z[i - 1]));
  });
  for (const [end, near, next] of [[0, 1, 2], [n - 1, n - 2, n - 3]]) {
    const slope = (z[next] - z[near]) / (x[next] - x[near]);
    result[end] = z[end] - (z[near] + slope * (x[end] - x[near]));
  }
  return result;
};
const usualDepartures = (x, departure, rules) => {
  const n = x.length;
  let reach = x.map((_, i) =>
    i === 0 ? 2 * (x[2] - x[0]) : i === n - 1 ? 2 * (x[n - 1] - x[n - 3]) : (x[i + 1] - x[i - 1]) / 2
  );
  const middle = median(reach);
  reach = reach.map((r) => (r / middle) ** 0.8);
  const scaled = departure.map((d, i) => Math.abs(d) / reach[i]);
  return reach.map((r, i) => {
    const near = scaled.filter((_, j) => Math.abs(j - i) > 1 && Math.abs(j - i) <= rules.around);
    return Math.max(1.4826 * median(near) * r, rules.floor);
  });
};
const standsAlone = (x, z, i, strange, rules) => {
  const others = x.map((_, j) => j).filter((j) => j !== i);
  const left = others.map((j) => x[j]);
  const departure = departures(left, others.map((j) => z[j]));
  const usual = usualDepartures(left, departure, rules);
  const near = departure.map((d, j) => Math.abs(d) / usual[j]).slice(Math.max(0, i - 2), i + 2);
  return Math.max(...near) < Math.max(rules.ordinary, rules.part * strange);
};

// One elevation a spot, in order of station; null where sides or repeats contradict each other.
const spotsOf = (taken, rules) => {
  const order = { before: 0, "": 1, after: 2 };
  const at = new Map();
  taken.forEach((one, index) => {
    const key = one.station;
    if (!at.has(key)) at.set(key, []);
    at.get(key).push({ ...one, index });
  });
  const stations = [...at.keys()].sort((a, b) => a - b);
  const spots = [];
  for (const station of stations) {
    const rows = at.get(station);
    const sides = new Set(rows.map((r) => r.side));
    const face = sides.has("before") && sides.has("after") && sides.size === 2;
    const end = station === stations[0] || station === stations[stations.length - 1];
    if ((!face && (sides.size > 1 || !sides.has(""))) || (face && end)) return null;
    for (const side of [...sides].sort((a, b) => order[a] - order[b])) {
      const spot = rows.filter((r) => r.side === side);
      const drops = spot.map((r) => r.drop);
      if (Math.max(...drops) - Math.min(...drops) > rules.repeatLimit + rules.rounding) return null;
      spots.push({
        x: station,
        z: -drops.reduce((sum, d) => sum + d, 0) / drops.length,
        raw: spot.length === 1 ? drops[0] : NaN,
        index: spot[0].index,
      });
    }
  }
  return spots;
};

const standingOut = (taken, rules, metric) => {
  if (new Set(taken.map((t) => t.station)).size < rules.fewest) return [];
  const spots = spotsOf(taken, rules);
  if (!spots) return [];
  const pieces = [[]];
  spots.forEach((spot, i) => {
    if (i && spot.x === spots[i - 1].x) pieces.push([]);
    pieces[pieces.length - 1].push(spot);
  });
  return pieces.filter((p) => p.length >= 5).flatMap((piece) => doubtsIn(piece, rules, metric));
};
const doubtsIn = (spots, rules, metric) => {
  const x = spots.map((s) => s.x);
  const z = spots.map((s) => s.z);
  const departure = departures(x, z);
  const usual = usualDepartures(x, departure, rules);
  const found = [];
  spots.forEach((spot, i) => {
    const off = departure[i];
    const strange = Math.abs(off) / usual[i];
    if (!(strange > rules.barSlip && Math.abs(off) > rules.leastDeparture)) return;
    if (Number.isNaN(spot.raw) || !standsAlone(x, z, i, strange, rules)) return;
    const wanted = spot.raw + off;
    const slack = Math.max(1, 0.15 * Math.abs(off));
    let best = null;
    for (const [name, value] of slipsOf(spot.raw, rules)) {
      const far = Math.abs(value - wanted);
      if (far > slack) continue;
      if (!best || far < best.far || (far === best.far && name < best.name)) best = { far, name, value };
    }
    if (!best && strange < rules.barAny) return;
    const fits = best ? best.value : wanted;
    const look = best ? ", which looks like " + best.name : "";
    found.push({
      index: spot.index,
      stations: [spot.x],
      wouldFit: spot.raw >= 0 && fits < 0 ? null : fits,
      found:
        lengthText(spot.raw, metric) + " at " + stationText(spot.x, metric) + " puts the ground " +
        lengthText(Math.abs(off), metric) + (off > 0 ? " above" : " below") + " the line of its neighbours" + look,
    });
  });
  return found;
};

const steepness = (taken, row, rules) => {
  const steps = row.slice(1).map((b, k) => {
    const a = row[k];
    const across = taken[b].station - taken[a].station;
    const face = across === 0 && taken[a].side !== taken[b].side;
    return face ? 0 : Math.abs(taken[b].drop - taken[a].drop) / Math.max(rules.leastStep, rules.steep * across);
  });
  return Math.max(0, ...steps);
};
const nearestSlip = (doubted, other, rules) => {
  const near = slipsOf(doubted.drop, rules)
    .map(([, value]) => value)
    .filter((value) => value >= 0 && Math.abs(value - other.drop) <= rules.leastStep);
  near.sort((v, w) => Math.abs(v - other.drop) - Math.abs(w - other.drop));
  return near.length ? near[0] : null;
};
// Of a pair with a steep step the later taken is the odd one, unless the earlier's right figure leaves far less.
const oddOne = (taken, around, pair, rules) => {
  const [last, first] = [Math.max(...pair), Math.min(...pair)];
  const judged = ([i, other]) => {
    const fits = nearestSlip(taken[i], taken[other], rules);
    const row = taken.map((one, j) => (j === i && fits !== null ? { ...one, drop: fits } : one));
    return { index: i, fits, left: steepness(row, around, rules) };
  };
  const [later, earlier] = [[last, first], [first, last]].map(judged);
  const beside = around[0] === first || around[around.length - 1] === first;
  return !beside && earlier.left < later.left * rules.oddPart ? earlier : later;
};
const steepSteps = (taken, rules, metric) => {
  const order = taken.map((_, i) => i).sort((a, b) => taken[a].station - taken[b].station || a - b);
  const found = [];
  for (let k = 0; k + 1 < order.length; k++) {
    const [a, b] = [order[k], order[k + 1]];
    if (steepness(taken, [a, b], rules) <= 1) continue;
    const step = taken[b].drop - taken[a].drop;
    const odd = oddOne(taken, order.slice(Math.max(k - 1, 0), k + 3), [a, b], rules);
    found.push({
      index: odd.index,
      stations: [taken[a].station, taken[b].station],
      wouldFit: odd.fits,
      found:
        "from " + stationText(taken[a].station, metric) + " to " + stationText(taken[b].station, metric) +
        " the ground would " + (step > 0 ? "fall" : "rise") + " by " + lengthText(Math.abs(step), metric),
    });
  }
  return found;
};

const everyDoubt = (taken, rules, metric) => {
  const told = taken
    .map((one, index) => ({ one, index }))
    .filter(({ one }) => one.drop > rules.longDrop)
    .map(({ one, index }) => ({
      index,
      stations: [one.station],
      wouldFit: null,
      found: lengthText(one.drop, metric) + " is a long way down from a string",
    }));
  const known = new Set(told.map((d) => d.index));
  told.push(...standingOut(taken, rules, metric).filter((d) => !known.has(d.index)));
  return told.length ? told : steepSteps(taken, rules, metric);
};
const disagreesWith = (taken, one, rules) =>
  taken.findIndex(
    (t) =>
      t.station === one.station && t.side === one.side &&
      Math.abs(t.drop - one.drop) > rules.repeatLimit + rules.rounding
  );
