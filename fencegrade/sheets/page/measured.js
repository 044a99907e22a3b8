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
  return scribed ? { left: down[0], right: down[1], kept: Math.max(...down) } : { kept: Math.min(...down) };
};
const tomlText = (text) => JSON.stringify(text);
// What stands, as the text of built.toml: runs in the page's order, each with its boards, posts and measured ground.
const builtText = (title, runs, left) => {
  const lines = ["# What stands of " + title.replace(/\s+/g, " ") + ". Save as built.toml beside job.toml."];
  const table = (name, pairs) => {
    lines.push("", "[[" + name + "]]");
    for (const [key, value] of pairs) if (value !== "") lines.push(key + " = " + value);
  };
  const quoted = (text) => (text ? tomlText(text) : "");
  for (const run of runs) {
    if (!run.pickets.length && !run.posts.length && !run.measured.length) continue;
    table("run", [["name", tomlText(run.name)]]);
    for (const p of run.pickets)
      table("run.picket", [["number", p.number], ["far_edge", quoted(p.edge)], ["width", quoted(p.width)], ["kept", quoted(p.kept)]]);
    for (const p of run.posts) table("run.post", [["number", p.number], ["station", quoted(p.station)], ["top", quoted(p.top)]]);
    for (const m of run.measured)
      table("run.measured", [["number", m.number], ["drop", m.drop.length === 2 ? "[" + m.drop.map(tomlText).join(", ") + "]" : tomlText(m.drop[0])]]);
  }
  for (const one of left) table("left", [["length", tomlText(one.length)], ["count", one.count]]);
  return lines.join("\n") + "\n";
};
