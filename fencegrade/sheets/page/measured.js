// A board whose ground is measured in place: its length from the drops at its two edges, or from the one at the
// edge that the plan has higher, as the plan works it out. `edges`: how much higher the line of the tops is at the
// left and right edge than the board's own top, and how deep under that top the plan has the ground there (in).
const measuredLength = (drops, edges, clearance, mark, scribed) => {
  const [atLeft, atRight, left, right] = edges;
  const [first, second] = drops;
  const higher = left <= right;
  const deep =
    drops.length === 2
      ? [first - atLeft, second - atRight]
      : higher
        ? [first - atLeft, Math.max(right, first - atLeft)]
        : [Math.max(left, first - atRight), first - atRight];
  const down = deep.map((depth) => Math.floor((depth - clearance) / mark + 1e-6));
  const depth = Math.min(...deep);
  return scribed ? { left: down[0], right: down[1], kept: Math.max(...down), depth } : { kept: Math.min(...down), depth };
};
// How far the highest ground measured under a board lies off what the plan has there, where that is too far to be
// believed (in), above +; 0 where it is not. `ground`: how deep the plan has it, and how far off is believed.
const doubtedOff = (depth, [planned, believed]) => (Math.abs(planned - depth) > believed ? planned - depth : 0);
// How far a far edge was measured off the plan's, less what the boards before it have come to (`drift`), where that is
// too far to be believed (in); 0 where it is not. `edge`: where the plan has it, and how far off is believed.
const edgeOff = (at, [planned, believed], drift) =>
  Math.abs(at - planned - drift) >= believed ? at - planned - drift : 0;
const tomlText = (text) => JSON.stringify(text);
// What stands, as the text of built.toml: what the job's record has, and what was typed here in its place or beside
// it. `runs`: typed, in the page's order; `left`: boards counted here; `record`: see record.py; `untaken`: what was typed and is of no use yet.
const builtText = (title, runs, left, record, untaken) => {
  const lines = ["# What stands of " + title.replace(/\s+/g, " ") + ". Save as built.toml beside job.toml."];
  const table = (name, pairs) => lines.push("", "[[" + name + "]]", ...pairs.map(([key, value]) => key + " = " + value));
  const filled = (pairs) => pairs.filter(([, text]) => text).map(([key, text]) => [key, tomlText(text)]);
  const last = (numbers) => Math.max(0, ...numbers.map(Number));
  let hung = false;
  for (const run of runs) {
    const known = record.runs[run.name];
    const rows = { post: new Map(), measured: new Map(), picket: new Map() };
    for (const name of Object.keys(rows))
      for (const [n, pairs] of Object.entries(known[name])) rows[name].set(Number(n), pairs);
    hung = hung || last(run.pickets.map((p) => p.number)) > last(Object.keys(known.picket));
    const take = (name, n, pairs) => rows[name].set(n, { ...(rows[name].get(n) || {}), ...Object.fromEntries(pairs) });
    for (const p of run.posts) take("post", p.number, filled([["station", p.station], ["top", p.top]]));
    for (const p of run.pickets) take("picket", p.number, filled([["far_edge", p.edge], ["width", p.width], ["kept", p.kept]]));
    for (const m of run.measured)
      take("measured", m.number, [
        ["drop", m.drop.length === 2 ? "[" + m.drop.map(tomlText).join(", ") + "]" : tomlText(m.drop[0])],
        ["left_edge", tomlText(m.edge)],
      ]);
    if (!Object.values(rows).some((found) => found.size)) continue;
    lines.push("", rows.picket.size ? known.text : known.bare);
    for (const [name, found] of Object.entries(rows))
      for (const n of [...found.keys()].sort((a, b) => a - b)) table("run." + name, [["number", n], ...Object.entries(found.get(n))]);
  }
  const counted = left.map((one) => [tomlText(one.length), one.count]);
  const before = (record.left || []).map((row) => [row.length, row.count]).filter(([length]) => !counted.some(([own]) => own === length));
  if (hung && before.length) lines.push("", "# Boards were counted before these went up: count what is left, above.");
  for (const [length, count] of hung ? counted : [...counted, ...before]) table("left", [["length", length], ["count", count]]);
  if (untaken.length) lines.push("", ...untaken.map((words) => "# Not taken: " + words.replace(/\s+/g, " ") + "."));
  return lines.join("\n") + "\n";
};
