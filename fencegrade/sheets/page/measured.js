// A board whose ground is measured in place: its length from the drops at its two edges, as the plan works it out.
// `offsets`: how much higher the line of the tops is at the left and right edge than at the middle (in).
const measuredLength = (drops, offsets, clearance, mark, scribed) => {
  const both = drops.length === 2 ? drops : [drops[0], drops[0]];
  const spread = drops.length === 2 ? offsets : [0, 0];
  const sides = both.map((drop, k) => drop - spread[k] - clearance);
  const down = (inches) => Math.floor(inches / mark + 1e-6);
  if (scribed) return { left: down(sides[0]), right: down(sides[1]), kept: Math.max(down(sides[0]), down(sides[1])) };
  return { kept: down(Math.min(...sides)) };
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
