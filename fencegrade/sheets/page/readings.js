(() => {
  const one = (query) => document.querySelector(query);
  const all = (query, from = document) => Array.from(from.querySelectorAll(query));
  const form = one("[data-entry]");
  const rulesOf = JSON.parse(one("[data-rules]").textContent);
  const root = document.documentElement.dataset;
  let survey = root.survey;
  const storeName = () => "fencegrade readings " + root.readings + " " + survey;
  const sideOf = { "wall, before": "before", "wall, after": "after" };
  const fresh = () => ({ system: root.system, rows: [], strings: 1, string: "A" });
  let state = fresh();
  let keeps = true;
  let doubted = -1;

  const metric = () => state.system === "metric";
  const rules = () => rulesOf[state.system];

  const tidy = (text) => text.trim().replace(/(\d)-(?=\d)/g, "$1 ").replace(/\s+/g, " ").replace(/\.$/, "");
  const several = () => state.strings > 1;
  const stringOf = (row) => row.string || "A";
  const taken = () => state.rows.map((row) => ({ station: inchesOf(row.along), drop: inchesOf(row.down), side: row.side }));

  const read = () => {
    try {
      const kept = JSON.parse(window.localStorage.getItem(storeName()) || "null");
      if (kept && Array.isArray(kept.rows) && rulesOf[kept.system]) state = { ...fresh(), ...kept };
    } catch (error) {
      keeps = !(error instanceof DOMException);
    }
  };
  const write = () => {
    try {
      window.localStorage.setItem(storeName(), JSON.stringify(state));
    } catch {
      keeps = false;
    }
    one("[data-storage]").hidden = keeps;
    if (!keeps) one("[data-storage]").textContent = "This browser keeps nothing for this page: copy the text before you close it.";
  };

  const cell = (text) => (/[",\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text);
  const noteOf = (row) => [sideOf[row.mark] ? "" : row.mark, row.sure ? "confirmed" : "", row.note].filter(Boolean).join(", ");
  const sorted = () => {
    const at = taken();
    const order = { before: 0, "": 1, after: 2 };
    return state.rows.map((_, i) => i).sort((a, b) => at[a].station - at[b].station || order[at[a].side] - order[at[b].side] || a - b);
  };
  // Readings are judged under their own string alone; what is found gets the place its reading has in the list.
  const own = (name) => state.rows.map((_, i) => i).filter((i) => stringOf(state.rows[i]) === name);
  const doubts = () => {
    const at = taken();
    return Array.from("ABCDEFGHI").flatMap((name) => {
      const mine = own(name);
      return everyDoubt(mine.map((i) => at[i]), rules(), metric()).map((d) => ({ ...d, index: mine[d.index] }));
    });
  };
  const surveyText = () => {
    const sides = state.rows.some((row) => row.side);
    const named = several() ? ["string"] : [];
    const head = ["station", "drop", ...named, ...(sides ? ["side"] : []), "note"];
    const lines = sorted().map((i) => {
      const row = state.rows[i];
      return [row.along, row.down, ...named.map(() => stringOf(row)), ...(sides ? [row.side] : []), cell(noteOf(row))].join(",");
    });
    const told = several() ? ["# Each string needs a [[run.string]] in job.toml: id, start and end."] : [];
    return [head.join(","), ...lines, ...told, ""].join("\n");
  };

  const svgPart = (name, words, text) => {
    const part = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(words)) part.setAttribute(key, String(value));
    if (text !== undefined) part.textContent = text;
    return part;
  };
  // How far each string hangs below the first (in), by the stakes that were read under both; null where none was.
  const strung = (at) => {
    const names = Array.from("ABCDEFGHI").filter((name) => own(name).length);
    const hung = Object.fromEntries(names.map((name, k) => [name, k ? null : 0]));
    for (let tied = true; tied; ) {
      tied = false;
      for (const name of names.filter((n) => hung[n] === null)) {
        const known = at.map((_, i) => i).filter((i) => hung[stringOf(state.rows[i])] !== null);
        const lower = own(name).flatMap((i) =>
          known
            .filter((j) => Math.abs(at[j].station - at[i].station) < 0.5 && at[j].side === at[i].side)
            .map((j) => at[j].drop + hung[stringOf(state.rows[j])] - at[i].drop)
        );
        if (lower.length) {
          hung[name] = lower.reduce((a, b) => a + b) / lower.length;
          tied = true;
        }
      }
    }
    return hung;
  };
  const draw = () => {
    const picture = one("[data-ground]");
    picture.textContent = "";
    const at = taken();
    if (!at.length) return;
    const order = sorted();
    const hung = strung(at);
    const under = at.map((t, i) => t.drop + (hung[stringOf(state.rows[i])] ?? 0));
    const far = Math.max(...at.map((t) => t.station));
    const near = Math.min(...at.map((t) => t.station));
    const deep = Math.max(...at.map((t) => t.drop), 1);
    const x = (s) => 14 + (332 * (s - near)) / Math.max(far - near, 1);
    const high = Math.min(0, ...Object.values(hung).map((h) => h ?? 0));
    const y = (d) => 22 + (100 * (d - high)) / Math.max(Math.max(...under) - high, 1);
    const ink = "currentColor";
    Object.entries(hung).forEach(([name, lower], k, every) => {
      const mine = order.filter((i) => stringOf(state.rows[i]) === name);
      const last = k % 2 === 1;
      const from = every.length > 1 ? x(at[mine[0]].station) - 6 : 8;
      const to = every.length > 1 ? x(at[mine[mine.length - 1]].station) + 6 : 352;
      const level = y(lower ?? 0).toFixed(1);
      picture.append(svgPart("line", { x1: from.toFixed(1), x2: to.toFixed(1), y1: level, y2: level, stroke: ink, "stroke-dasharray": "5 3" }));
      const words = every.length > 1 ? "string " + name + (lower === null ? ", no stake shared" : "") : "string";
      const anchor = last ? { x: to.toFixed(1), "text-anchor": "end" } : { x: (from + 2).toFixed(1) };
      picture.append(svgPart("text", { ...anchor, y: (Number(level) - 6).toFixed(1), "font-size": 11, fill: ink }, words));
      const points = mine.map((i) => x(at[i].station).toFixed(1) + "," + y(under[i]).toFixed(1));
      const dashed = lower === null ? { "stroke-dasharray": "2 3" } : {};
      picture.append(svgPart("polyline", { points: points.join(" "), fill: "none", stroke: ink, "stroke-width": 2, ...dashed }));
    });
    for (const i of order)
      picture.append(svgPart("circle", { cx: x(at[i].station).toFixed(1), cy: y(under[i]).toFixed(1), r: i === at.length - 1 ? 5 : 3, fill: ink }));
    picture.append(svgPart("text", { x: 10, y: 144, "font-size": 11, fill: ink }, stationText(near, metric())));
    if (far > near) picture.append(svgPart("text", { x: 350, y: 144, "font-size": 11, fill: ink, "text-anchor": "end" }, stationText(far, metric())));
    picture.append(svgPart("text", { x: 180, y: 144, "font-size": 11, fill: ink, "text-anchor": "middle" }, "deepest " + lengthText(deep, metric())));
  };
  const element = (name, text, words = {}) => {
    const made = document.createElement(name);
    made.textContent = text;
    for (const [key, value] of Object.entries(words)) made.setAttribute(key, value);
    return made;
  };
  const list = () => {
    const place = one("[data-taken]");
    place.textContent = "";
    const odd = new Set(doubts().map((d) => d.index));
    for (const i of sorted()) {
      const row = state.rows[i];
      const line = element("li", "");
      const look = odd.has(i) && !row.sure ? { class: "odd" } : {};
      line.append(element("span", row.along), element("span", row.down + " down", look));
      line.append(element("button", "Correct", { type: "button", class: "quiet", "data-correct": i, "aria-label": "Correct the reading at " + row.along }));
      line.append(element("button", "✕", { type: "button", class: "quiet", "data-drop": i, "aria-label": "Take out the reading at " + row.along }));
      const more = [several() ? "string " + stringOf(row) : "", row.side ? "wall or kerb, " + row.side + " it" : "", noteOf(row), look.class ? "looks wrong" : ""].filter(Boolean).join(", ");
      if (more) line.append(element("span", more, { class: "more" }));
      place.append(line);
    }
    const n = state.rows.length;
    one("[data-count]").textContent = n ? n + (n === 1 ? " reading" : " readings") + ", kept on this device." : "Nothing taken yet.";
  };
  const show = () => {
    for (const part of all("[data-for]")) part.hidden = part.dataset.for !== state.system;
    one("input[name=system][value=" + state.system + "]").checked = true;
    one("[data-units]").hidden = state.rows.length > 0;
    one("[data-strings]").hidden = !several();
    all("[data-strings] label").forEach((label, k) => (label.hidden = k >= state.strings));
    form.elements.string.value = state.string;
    one("[data-survey-name]").textContent = survey;
    one("[data-text]").value = surveyText();
    draw();
    list();
  };

  let here = null;
  const boxes = () => all(".boxes input").filter((box) => !box.closest("[data-for]").hidden);
  const goTo = (box) => {
    if (here) here.classList.remove("here");
    here = box;
    here.classList.add("here");
    box.focus({ preventScroll: true });
  };
  form.addEventListener("focusin", (event) => {
    if (event.target.closest(".boxes")) {
      if (here) here.classList.remove("here");
      here = event.target;
      here.classList.add("here");
    }
  });
  const addFraction = (text) => {
    const found = /^(\d*)(?:[ -]+)?(?:(\d+)\/(\d+))?$/.exec(here.value.trim());
    if (!found || here.name === "along_ft") return;
    here.value = (found[1] && !found[2] ? found[1] + " " : /^\d+ /.test(here.value) ? found[1] + " " : "") + text;
  };
  const addSixteenth = () => {
    const found = /^(?:(\d+)(?:\s+|$))?(?:(\d+)\/(\d+))?$/.exec(here.value.trim());
    if (!found || here.name === "along_ft") return;
    const count = Number(found[1] || 0) * 16 + (found[2] ? (Number(found[2]) * 16) / Number(found[3]) : 0) + 1;
    here.value = fractionText(Math.round(count)).replace("-", " ");
  };
  one("main").addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || button.type === "submit") return;
    if (here && "keyText" in button.dataset) here.value += button.dataset.keyText;
    else if (here && "back" in button.dataset) here.value = here.value.slice(0, -1);
    else if (here && "fraction" in button.dataset) addFraction(button.dataset.fraction);
    else if (here && "sixteenth" in button.dataset) addSixteenth();
    else if ("nextString" in button.dataset) {
      state.strings = Math.min(state.strings + 1, 9);
      state.string = "ABCDEFGHI"[state.strings - 1];
      settle();
    } else if ("correct" in button.dataset) correct(Number(button.dataset.correct));
    else if ("drop" in button.dataset) {
      state.rows.splice(Number(button.dataset.drop), 1);
      settle();
    }
  });

  const value = (name) => form.elements[name].value;
  const entered = () => {
    const along = metric() ? tidy(value("along_m")) + " m" : (tidy(value("along_ft")) || "0") + " ft " + (tidy(value("along_in")) || "0") + " in";
    const down = metric() ? tidy(value("down_mm")) + " mm" : tidy(value("down_in")) + " in";
    if (!metric() && !value("along_ft").trim() && !value("along_in").trim()) return { wrong: "How far along is it?" };
    if (Number.isNaN(inchesOf(along))) return { wrong: "How far along: type a number, such as " + (metric() ? "3.6" : "12, or 12 and 6 1/2, less than 12 in after the feet") + "." };
    if (Number.isNaN(inchesOf(down))) return { wrong: "How far down: type a number, such as " + (metric() ? "815" : "31, or 31 1/2") + "." };
    const mark = value("mark");
    return { along: along.replace(/ ft 0 in$/, " ft"), down, string: several() ? state.string : "", side: sideOf[mark] || "", mark, note: value("note").trim() };
  };
  const empty = () => {
    for (const box of all(".boxes input")) box.value = "";
    form.elements.note.value = "";
    one("input[name=mark][value='']").checked = true;
    goTo(boxes()[0]);
  };
  const fill = (row) => {
    const parts = (text) => Object.fromEntries([...text.matchAll(/([\d./ ]+?)\s*(ft|in|mm|m)\b/g)].map((m) => [m[2], m[1].trim()]));
    const along = parts(row.along);
    const down = parts(row.down);
    for (const [name, part] of [["along_ft", along.ft], ["along_in", along.in], ["along_m", along.m], ["down_in", down.in], ["down_mm", down.mm]])
      form.elements[name].value = part || "";
    form.elements.note.value = row.note;
    form.elements.mark.value = row.mark;
  };
  const correct = (index) => {
    const [row] = state.rows.splice(index, 1);
    fill(row);
    state.string = stringOf(row);
    settle();
    goTo(boxes().find((box) => box.name.startsWith("down")));
    form.scrollIntoView({ block: "start", behavior: "instant" });
  };

  // The first doubt that nobody has answered stays in sight until it is.
  const doubtNow = () => {
    const doubt = doubts().find((d) => !state.rows[d.index].sure);
    const fits = doubt && doubt.wouldFit !== null ? "; " + lengthText(doubt.wouldFit, metric()) + " would fit at " + stationText(taken()[doubt.index].station, metric()) : "";
    return doubt ? { index: doubt.index, words: "Look again: " + doubt.found + fits + "." } : { index: -1, words: "" };
  };
  const settle = (told = doubtNow()) => {
    doubted = told.index;
    one("[data-doubt]").hidden = doubted < 0;
    one("[data-doubt-words]").textContent = told.words;
    write();
    show();
    if (doubted >= 0) one("[data-doubt]").scrollIntoView({ block: "nearest", behavior: "instant" });
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const row = entered();
    one("[data-wrong]").textContent = row.wrong || "";
    if (row.wrong) return;
    const read = { station: inchesOf(row.along), drop: inchesOf(row.down), side: row.side };
    const mine = own(stringOf(row));
    const at = taken();
    const near = disagreesWith(mine.map((i) => at[i]), read, rules());
    const other = near < 0 ? near : mine[near];
    state.rows.push(row);
    empty();
    const before = other >= 0 ? state.rows[other].down : "";
    const words = "It was " + before + " down at " + row.along + " before, now " + row.down + ". Correct this one, or take the earlier one out of the list below.";
    settle(before ? { index: state.rows.length - 1, words } : undefined);
  });
  one("[data-doubt-correct]").addEventListener("click", () => correct(doubted));
  one("[data-doubt-keep]").addEventListener("click", () => {
    state.rows[doubted].sure = true;
    settle();
  });
  form.addEventListener("change", (event) => {
    if (event.target.name === "string") {
      state.string = event.target.value;
      const used = [state.string, ...state.rows.map(stringOf)].sort().pop();
      state.strings = "ABCDEFGHI".indexOf(used) + 1;
      settle();
      return;
    }
    if (event.target.name === "run") {
      survey = event.target.value;
      state = fresh();
      read();
      settle();
      return;
    }
    if (event.target.name !== "system") return;
    state.system = event.target.value;
    write();
    show();
    goTo(boxes()[0]);
  });

  one("[data-copy]").addEventListener("click", async () => {
    const box = one("[data-text]");
    try {
      await navigator.clipboard.writeText(box.value);
    } catch {
      box.select();
      document.execCommand("copy");
    }
    one("[data-copied]").textContent = "Copied.";
  });
  if (navigator.share) {
    one("[data-share]").hidden = false;
    one("[data-share]").addEventListener("click", () => navigator.share({ text: surveyText() }).catch(() => {}));
  }
  let asked = false;
  one("[data-clear]").addEventListener("click", () => {
    one("[data-clear-words]").textContent = asked ? "Cleared." : "This takes out every reading for good. Press again to do it.";
    if (asked) {
      state.rows = [];
      settle();
    }
    asked = !asked;
  });

  read();
  settle();
  goTo(boxes()[0]);
})();
