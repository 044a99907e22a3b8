(() => {
  const all = (query, from = document) => Array.from(from.querySelectorAll(query));
  const one = (query, from = document) => from.querySelector(query);
  const root = document.documentElement.dataset;
  const metric = root.system === "metric";
  const unit = metric ? "mm" : "in";
  const mark = Number(root.mark);
  const boxes = all("input[data-key]");
  const cards = all(".picket[data-number]");
  // What is up has no ticks: nothing is left to do to it, and it is no part of any count.
  const isUp = (card) => "stands" in card.dataset;
  const coming = cards.filter((card) => !isUp(card));
  const store = keptOf("fencegrade " + root.job);
  const placeName = "fencegrade place " + root.job;
  const record = JSON.parse(root.record);

  const members = new Map();
  for (const box of all("input[data-row]")) {
    if (!members.has(box.dataset.row)) members.set(box.dataset.row, []);
    members.get(box.dataset.row).push(box);
  }
  // A row of the saw list follows its pickets where all of them are on the page.
  const rowOf = (box) => box.closest("tr");
  const follows = (box) => rowOf(box) && members.has(rowOf(box).id) && members.get(rowOf(box).id).length === Number(rowOf(box).dataset.count);
  const rows = new Set(boxes.filter(follows));
  const owned = boxes.filter((box) => !rows.has(box));
  const byKey = new Map(owned.map((box) => [box.dataset.key, box]));

  const element = (name, text, words = {}) => {
    const made = document.createElement(name);
    made.textContent = text;
    for (const [key, value] of Object.entries(words)) made.setAttribute(key, value);
    return made;
  };
  // Scripts alone make use of these, so scripts make them: a page of many boards stays small.
  for (const place of all("[data-panel-place]")) {
    const part = place.closest("[data-run]");
    if (!part) continue;
    const name = "post" in part.dataset ? "post " + part.dataset.post : "picket " + part.dataset.number;
    const button = element("button", "", { type: "button", class: "measure", "data-measure": "" });
    button.append(element("span", name + " ", { class: "vh" }), "post" in part.dataset ? "as set" : "measured");
    place.append(element("span", "", { class: "here-cut", "data-measured": "", hidden: "" }), button);
  }
  const tellStorage = () => {
    const words = one("[data-storage]");
    words.hidden = store.keeps;
    if (!store.keeps) words.textContent = "This browser keeps nothing for this page: ticks last until it is closed.";
  };
  const keep = () => {
    store.write();
    tellStorage();
    show();
  };

  const isCut = (card) => isUp(card) || one("[data-tick=cut]", card).checked;
  const isHung = (card) => isUp(card) || one("[data-tick=hung]", card).checked;
  const show = () => {
    for (const box of owned) box.checked = store.isTicked(box.dataset.key);
    for (const box of rows) {
      const mine = members.get(rowOf(box).id);
      const cut = mine.filter((member) => member.checked).length;
      box.checked = cut > 0 && cut === mine.length;
      box.indeterminate = cut > 0 && !box.checked;
    }
    for (const card of cards) card.classList.toggle("done", isHung(card) || isCut(card));
    for (const box of boxes) if (rowOf(box)) rowOf(box).classList.toggle("done", box.checked);
    const cut = coming.filter(isCut).length;
    one("[data-progress]").value = cut;
    const hung = coming.filter(isHung).length;
    one("[data-progress-words]").textContent = coming.length ? cut + " of " + coming.length + " cut, " + hung + " hung" : "all up";
    showBays();
    showDig();
    showChanged();
    showMeasured();
    showStands();
    if (found.dataset.at) at(document.getElementById(found.dataset.at));
  };
  const showBays = () => {
    const wanted = one("[data-cards]").dataset.show;
    let shown = 0;
    for (const bay of all("[data-cards] .bay")) {
      const mine = all(".picket", bay);
      const left = mine.filter((c) => !isUp(c));
      const cut = left.filter(isCut).length;
      const asked = { all: (c) => !isUp(c), left: (c) => !isCut(c), look: (c) => "remarks" in c.dataset, up: isUp }[wanted];
      const seen = mine.filter(asked).length;
      one("[data-bay-count]", bay).textContent = left.length ? cut + " of " + left.length + " cut" : "all up";
      bay.classList.toggle("empty", seen === 0);
      shown += seen;
    }
    one("[data-nothing]").hidden = shown > 0 || cards.length === 0;
  };
  const showDig = () => {
    const list = all("[data-dig]");
    const done = list.filter((box) => box.checked).length;
    for (const words of all("[data-dig-state]")) {
      words.classList.toggle("checked", done === list.length);
      words.textContent =
        done === list.length
          ? "Before you dig: all " + done + " points ticked."
          : "Buried lines: not checked yet. Do not dig: " + done + " of " + list.length + " points under “Before you dig” are ticked.";
    }
  };

  // Boards ticked as cut to a length that the plan has no more: kept, told, and left out of the count.
  const ranges = (numbers) => {
    const sorted = [...new Set(numbers)].sort((a, b) => a - b);
    const found = [];
    for (const n of sorted) {
      const last = found[found.length - 1];
      if (last && n === last[1] + 1) last[1] = n;
      else found.push([n, n]);
    }
    return found.map(([a, b]) => (a === b ? String(a) : a + "-" + b)).join(", ");
  };
  const changed = () => {
    const lengths = new Map(coming.map((card) => [card.dataset.run + "|" + card.dataset.number, card]));
    return Object.keys(store.kept.ticks)
      .filter((key) => key.startsWith("cut|") && store.isTicked(key) && !byKey.has(key))
      .map((key) => key.split("|"))
      .filter(([, run, number]) => lengths.has(run + "|" + number))
      .map(([, run, number, length]) => ({ run, number: Number(number), length }));
  };
  const showChanged = () => {
    const list = changed();
    one("[data-changed]").hidden = list.length === 0;
    const runs = [...new Set(list.map((c) => c.run))];
    const words = runs.map((run) => {
      const mine = list.filter((c) => c.run === run).map((c) => c.number);
      return (runs.length > 1 || cards.some((c) => c.dataset.run !== run) ? run + ": " : "") + "boards " + ranges(mine);
    });
    one("[data-changed-words]").textContent =
      "These have new lengths since they were ticked as cut: " + words.join("; ") + ". Hold them at their place before you cut again.";
  };
  one("[data-changed-clear]").addEventListener("click", () => {
    for (const c of changed()) store.tick(["cut", c.run, c.number, c.length].join("|"), false);
    keep();
  });

  document.addEventListener("change", (event) => {
    const box = event.target;
    if (box.name === "show") {
      one("[data-cards]").dataset.show = box.value;
      showBays();
    } else if (box.dataset.key) {
      if (rows.has(box)) for (const member of members.get(rowOf(box).id)) store.tick(member.dataset.key, box.checked);
      else store.tick(box.dataset.key, box.checked);
      keep();
    } else if (box.dataset.text) {
      store.put(box.dataset.text, box.value.trim());
      keep();
    }
  });
  window.addEventListener("storage", (event) => {
    if (event.key === "fencegrade " + root.job || event.key === null) {
      store.read();
      show();
    }
  });

  // What is measured at a board or a post is typed in a panel under it, made when it is asked for.
  const nameOf = (place) => place.dataset.run + "|" + (place.dataset.number || place.dataset.post);
  // The unit of a bare number: what the place itself is told in.
  const unitOf = (name) => (metric && (name === "station" || name === "edge") ? "m" : unit);
  const asked = (place) =>
    "post" in place.dataset
      ? [["station", "stands at", "as set"], ["top", "top over the ground", ""]]
      : [["drop0", "line of the tops to the ground, left edge", ""], ["drop1", "the same, right edge", ""], ["edge", "far edge stands at", ""], ["width", "its width", ""], ["kept", "its length, if another", ""]];
  const panel = (place) => {
    const open = one(".panel", place);
    if (open) return open.remove();
    const made = element("div", "", { class: "panel" });
    for (const [name, words] of asked(place)) {
      const key = [name, nameOf(place)].join("|");
      const label = element("label", words + " ");
      const box = element("input", "", { type: "text", autocomplete: "off", "data-text": key, placeholder: unitOf(name), maxlength: 24 });
      box.value = store.textOf(key);
      label.append(box);
      made.append(label);
    }
    (one("[data-panel-place]", place) || place).append(made);
    one("input", made).focus();
  };
  const length = (name, place) => inchesOf(store.textOf(name + "|" + nameOf(place)), unitOf(name));
  const written = (name, place) => {
    const text = store.textOf(name + "|" + nameOf(place));
    return /^[\d.,/ -]+$/.test(text) ? text.trim() + " " + unitOf(name) : text;
  };
  const dropsOf = (place) => {
    const names = ["drop0", "drop1"].filter((name) => store.textOf(name + "|" + nameOf(place)));
    return names.map((name) => length(name, place)).every((drop) => drop > 0) ? names : [];
  };
  // What was typed at a board or a post and is of no use yet: nothing that was measured is dropped in silence.
  const untakenAt = (place) => {
    const typed = asked(place).filter(([name]) => store.textOf(name + "|" + nameOf(place)));
    const reads = (name) => (name.startsWith("drop") ? length(name, place) > 0 : length(name, place) >= 0);
    const far = ["edge", "write where its far edge stands as well"];
    const needs = { width: far, kept: far, top: ["station", "write where it stands as well"] };
    return typed.flatMap(([name, words]) => {
      const told = words + " " + store.textOf(name + "|" + nameOf(place));
      if (!reads(name)) return told + ": cannot be read, write it as " + (unitOf(name) === "m" ? "8.16 m" : metric ? "816 mm" : name.startsWith("drop") || name === "width" ? "31-1/2 in" : "21' 6-1/2\"");
      const [other, remedy] = needs[name] || [];
      return other && !store.textOf(other + "|" + nameOf(place)) ? told + ": " + remedy : [];
    });
  };
  const postRows = all("[data-post]").filter((row) => row.dataset.run);
  const untaken = () => {
    const several = all("[data-run-name]").length > 1;
    const nameIn = (place) => ("post" in place.dataset ? "post " + place.dataset.post : "picket " + place.dataset.number) + (several ? ", " + place.dataset.run : "");
    const places = [...cards, ...postRows].flatMap((place) => untakenAt(place).map((words) => nameIn(place) + ", " + words));
    const lefts = all("[data-left]").map((box) => [box.dataset.left, store.textOf(box.dataset.text)]);
    return [...places, ...lefts.filter(([, count]) => count && !/^\d+$/.test(count)).map(([name, count]) => "boards left of " + name + ", " + count + ": write a whole number")];
  };
  // Far edges that are a board or more off the plan's, less what the boards before them have come to; the plan doubts
  // them too, or refuses them.
  const edgesOff = () => {
    const [drift, found] = [new Map(), new Map()];
    for (const card of cards) {
      const at = length("edge", card);
      if (!card.dataset.edge || !(at >= 0)) continue;
      const edge = card.dataset.edge.split(" ").map(Number);
      const off = edgeOff(at, edge, drift.get(card.dataset.run) || 0);
      const told = "COUNT AGAIN: it is planned to end at " + stationText(edge[0], metric) + ", this is " + lengthText(Math.abs(off), metric);
      if (off) found.set(card, told + (off > 0 ? " more" : " less"));
      else drift.set(card.dataset.run, at - edge[0]);
    }
    return found;
  };
  const keptText = (count) => marksText(count, mark, metric);
  const showMeasured = () => {
    const miscounted = edgesOff();
    for (const card of [...cards, ...postRows]) {
      const names = "post" in card.dataset ? [] : dropsOf(card);
      const place = one("[data-measured]", card);
      const not = [...(miscounted.has(card) ? [miscounted.get(card)] : []), ...untakenAt(card)];
      if (place) place.hidden = names.length + not.length === 0;
      if (!place || !names.length) {
        if (place) place.textContent = not.join("; ");
        continue;
      }
      const edges = card.dataset.line.split(" ").map(Number);
      const cut = measuredLength(names.map((name) => length(name, card)), edges, Number(card.dataset.wanted || root.wanted), mark, root.scribed === "1" || "scribe" in card.dataset);
      const sides = cut.left === cut.right ? "" : ", left side " + keptText(cut.left) + ", right side " + keptText(cut.right);
      const off = doubtedOff(cut.depth, (card.dataset.ground || "0 Infinity").split(" ").map(Number));
      const doubt = off ? "MEASURE AGAIN: the ground would be " + lengthText(Math.abs(off), metric) + (off > 0 ? " over" : " under") + " what the readings say; " : "";
      const board = Math.floor(Number(card.dataset.board || Infinity) / mark + 1e-6);
      const short = cut.kept > board ? ", longer than its board of " + keptText(board) : "";
      place.textContent = doubt + "measured here: keep " + keptText(cut.kept) + sides + short + not.map((words) => "; " + words).join("");
    }
  };
  const standing = () => {
    const runs = all("[data-run-name]").map((place) => place.dataset.runName);
    return runs.map((name) => {
      const mine = cards.filter((card) => card.dataset.run === name);
      const posts = all("[data-post]").filter((row) => row.dataset.run === name);
      return {
        name,
        pickets: mine
          .filter((card) => length("edge", card) >= 0)
          .map((card) => ({ number: Number(card.dataset.number), edge: written("edge", card), width: written("width", card), kept: written("kept", card) })),
        posts: posts
          .filter((row) => length("station", row) >= 0)
          .map((row) => ({ number: Number(row.dataset.post), station: written("station", row), top: written("top", row) })),
        measured: mine
          .filter((card) => dropsOf(card).length && !isHung(card))
          .map((card) => ({ number: Number(card.dataset.number), edge: card.dataset.leftEdge, drop: dropsOf(card).map((name) => written(name, card)) })),
      };
    });
  };
  const leftOver = () =>
    all("[data-left]")
      .map((box) => ({ length: box.dataset.left, count: store.textOf(box.dataset.text) }))
      .filter((one) => /^\d+$/.test(one.count));
  const showStands = () => {
    for (const box of all("[data-left]")) if (box !== document.activeElement) box.value = store.textOf(box.dataset.text);
    one("[data-built]").value = builtText(root.job, standing(), leftOver(), record, untaken());
    const not = one("[data-untaken]");
    const count = Array.from(edgesOff(), ([card, words]) => "Picket " + card.dataset.number + ", " + card.dataset.run + ": " + words + ". ");
    not.textContent = [...untaken().map((words) => "Not taken: " + words + ". "), ...count].join("");
    not.hidden = !not.textContent;
  };
  const copy = async (box, told) => {
    try {
      await navigator.clipboard.writeText(box.value);
    } catch {
      box.select();
      document.execCommand("copy");
    }
    told.textContent = "Copied.";
  };
  one("[data-copy-built]").addEventListener("click", () => copy(one("[data-built]"), one("[data-copied-built]")));
  one("[data-copy-kept]").addEventListener("click", () => {
    one("[data-other]").value = store.given();
    copy(one("[data-other]"), one("[data-told]"));
  });
  one("[data-take-kept]").addEventListener("click", () => {
    const count = store.merge(one("[data-other]").value);
    one("[data-told]").textContent = count < 0 ? "That is not the text of another phone: copy it there, whole, and paste it here." : "Taken in; " + count + (count === 1 ? " thing is" : " things are") + " new here.";
    if (count >= 0) keep();
  });

  const clear = one("[data-clear-ticks]");
  const clearWords = one("[data-clear-words]");
  let sure = false;
  const unask = () => {
    sure = false;
    clear.textContent = "Clear every tick";
  };
  clear.addEventListener("click", () => {
    const ticked = Object.keys(store.kept.ticks).filter(store.isTicked);
    if (!ticked.length) clearWords.textContent = "Nothing is ticked.";
    else if (!sure) {
      sure = true;
      clear.textContent = "Yes, clear them";
      clearWords.textContent = "This clears " + ticked.length + (ticked.length === 1 ? " tick" : " ticks") + " for good. Press again to do it.";
    } else {
      for (const key of ticked) store.tick(key, false);
      keep();
      unask();
      clearWords.textContent = "Cleared.";
    }
  });
  clear.addEventListener("blur", () => {
    if (sure) {
      unask();
      clearWords.textContent = "";
    }
  });

  const find = one("#find");
  const found = one("[data-found]");
  const matches = () => {
    const wanted = find.value.trim();
    return /^[0-9]+$/.test(wanted) ? cards.filter((card) => Number(card.dataset.number) === Number(wanted)) : [];
  };
  const runName = (card) => (cards.some((other) => other.dataset.run !== card.dataset.run) ? ", " + card.dataset.run : "");
  const line = (...parts) => {
    const p = document.createElement("p");
    p.append(...parts);
    found.append(p);
  };
  const stands = (card) => (isUp(card) ? ". Up." : isHung(card) ? ". Hung." : isCut(card) ? ". Cut." : ". Not cut yet.");
  const keepIt = (card) => ("long" in card.dataset ? "" : "keep ");
  const answer = () => {
    const hits = matches();
    found.textContent = "";
    delete found.dataset.at;
    if (!find.value.trim()) return hits;
    if (!hits.length) {
      const most = Math.max(0, ...cards.map((card) => Number(card.dataset.number)));
      line("No picket " + find.value.trim() + " here. Type a number from 1 to " + most + ".");
    }
    for (const card of hits) {
      const link = element("a", "Picket " + card.dataset.number + runName(card), { href: "#" + card.id });
      const words = all(".kept, .expect, .how, .where, .remark", card).map((part) => part.textContent.trim());
      line(link, ": " + keepIt(card) + words.join(", ") + stands(card));
    }
    return hits;
  };
  const at = (card) => {
    found.textContent = "";
    found.dataset.at = card.id;
    line("At picket " + card.dataset.number + runName(card) + ": " + keepIt(card) + one(".kept", card).textContent + stands(card));
  };
  let next = 0;
  const showOnly = (wanted) => {
    one("[data-cards]").dataset.show = wanted;
    one("input[name=show][value=" + wanted + "]").checked = true;
  };
  const go = (card) => {
    showOnly(isUp(card) ? "up" : "all");
    showBays();
    at(card);
    for (const other of all(".here")) other.classList.remove("here");
    card.classList.add("here");
    (one("[data-tick]", card) || one("button", card)).focus({ preventScroll: true });
    card.scrollIntoView({ block: "center", behavior: "instant" });
  };
  find.addEventListener("input", () => {
    next = 0;
    answer();
  });
  one("[data-find]").addEventListener("submit", (event) => {
    event.preventDefault();
    const hits = answer();
    if (hits.length) go(hits[next++ % hits.length]);
    else find.focus();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("[data-found] a");
    const button = event.target.closest("[data-measure]");
    if (link) {
      event.preventDefault();
      go(document.getElementById(link.hash.slice(1)));
    } else if (button) panel(button.closest("[data-run]"));
  });

  // A reload comes back to the board or section that was in sight.
  const places = [...all("main section"), ...cards];
  const stay = () => {
    const top = one("[data-bar]").getBoundingClientRect().bottom;
    const seen = places.filter((place) => place.getBoundingClientRect().top <= top + 40 && place.getClientRects().length);
    try {
      window.sessionStorage.setItem(placeName, seen.length ? seen[seen.length - 1].id : "");
    } catch {
      // nothing is kept here; the page then opens at its top
    }
  };
  window.addEventListener("pagehide", stay);
  const comeBack = () => {
    let id = "";
    try {
      id = window.sessionStorage.getItem(placeName) || "";
    } catch {
      return;
    }
    if (id && !window.location.hash && document.getElementById(id)) document.getElementById(id).scrollIntoView({ behavior: "instant" });
  };

  const bar = one("[data-bar]");
  bar.hidden = cards.length === 0;
  new ResizeObserver(() => document.documentElement.style.setProperty("--bar", bar.offsetHeight + "px")).observe(bar);
  for (const part of all("[data-live]")) part.hidden = cards.length === 0;
  one("[data-clear]").hidden = false;
  document.documentElement.style.setProperty("--bar", bar.offsetHeight + "px");
  window.history.scrollRestoration = "manual";
  showOnly("all");
  store.read();
  show();
  tellStorage();
  comeBack();
})();
