"use strict";
(() => {
  const all = (query, from = document) => Array.from(from.querySelectorAll(query));
  const one = (query) => document.querySelector(query);
  const boxes = all("input[data-key]");
  const cards = all(".picket[data-number]");
  const storeName = "fencegrade " + document.documentElement.dataset.plan;

  const members = new Map();
  for (const box of all("input[data-row]")) {
    if (!members.has(box.dataset.row)) members.set(box.dataset.row, []);
    members.get(box.dataset.row).push(box);
  }
  // A row of the saw list follows its pickets where all of them are on the page.
  const follows = (box) => members.has(box.dataset.key) && members.get(box.dataset.key).length === rowCount(box);
  const rowCount = (box) => Number(box.closest("tr").dataset.count);
  const rows = new Set(boxes.filter((box) => box.closest("tr") && follows(box)));
  const owned = boxes.filter((box) => !rows.has(box));

  let keeps = true;
  const read = () => {
    try {
      const kept = JSON.parse(window.localStorage.getItem(storeName) || "[]");
      return new Set(Array.isArray(kept) ? kept : []);
    } catch (error) {
      keeps = !(error instanceof DOMException);
      return new Set();
    }
  };
  const write = () => {
    const kept = owned.filter((box) => box.checked).map((box) => box.dataset.key);
    try {
      if (kept.length) window.localStorage.setItem(storeName, JSON.stringify(kept));
      else window.localStorage.removeItem(storeName);
    } catch {
      keeps = false;
      tellStorage();
    }
  };
  const tellStorage = () => {
    const words = one("[data-storage]");
    words.hidden = keeps;
    if (!keeps) words.textContent = "This browser keeps nothing for this page: ticks last until it is closed.";
  };

  const isCut = (card) => card.querySelector("input").checked;
  const show = () => {
    for (const box of rows) {
      const cut = members.get(box.dataset.key).filter((member) => member.checked).length;
      box.checked = cut > 0 && cut === members.get(box.dataset.key).length;
      box.indeterminate = cut > 0 && !box.checked;
    }
    for (const box of boxes) {
      const place = box.closest(".picket, tr");
      if (place) place.classList.toggle("done", box.checked);
    }
    const cut = cards.filter(isCut).length;
    one("[data-progress]").value = cut;
    one("[data-progress-words]").textContent = cut + " of " + cards.length + " cut";
    showBays();
    showDig();
  };
  const showBays = () => {
    const wanted = one("[data-cards]").dataset.show || "all";
    let shown = 0;
    for (const bay of all("[data-cards] .bay")) {
      const mine = all(".picket", bay);
      const cut = mine.filter(isCut).length;
      const seen = mine.filter((c) =>
        wanted === "left" ? !isCut(c) : wanted === "look" ? "remarks" in c.dataset : true
      ).length;
      bay.querySelector("[data-bay-count]").textContent = cut + " of " + mine.length + " cut";
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
          : "Buried lines: not checked yet. Do not dig: " + done + " of " + list.length +
            " points under “Before you dig” are ticked.";
    }
  };
  const take = (kept) => {
    for (const box of owned) box.checked = kept.has(box.dataset.key);
    show();
  };

  document.addEventListener("change", (event) => {
    const box = event.target;
    if (box.name === "show") {
      one("[data-cards]").dataset.show = box.value;
      showBays();
    } else if (box.dataset.key) {
      if (rows.has(box)) for (const member of members.get(box.dataset.key)) member.checked = box.checked;
      write();
      show();
    }
  });
  window.addEventListener("storage", (event) => {
    if (event.key === storeName || event.key === null) take(read());
  });

  const clear = one("[data-clear-ticks]");
  const clearWords = one("[data-clear-words]");
  let asked = false;
  const unask = () => {
    asked = false;
    clear.textContent = "Clear every tick";
  };
  clear.addEventListener("click", () => {
    const count = boxes.filter((box) => box.checked).length;
    if (!count) clearWords.textContent = "Nothing is ticked.";
    else if (!asked) {
      asked = true;
      clear.textContent = "Yes, clear them";
      clearWords.textContent = "This clears " + count + (count === 1 ? " tick" : " ticks") + " for good. Press again to do it.";
    } else {
      take(new Set());
      write();
      unask();
      clearWords.textContent = "Cleared.";
    }
  });
  clear.addEventListener("blur", () => {
    if (asked) {
      unask();
      clearWords.textContent = "";
    }
  });

  const find = one("#find");
  const found = one("[data-found]");
  const numbers = cards.map((card) => Number(card.dataset.number));
  const matches = () => {
    const wanted = find.value.trim();
    return /^[0-9]+$/.test(wanted) ? cards.filter((card, k) => numbers[k] === Number(wanted)) : [];
  };
  const runName = (card) => {
    const headings = all("[data-cards] h3");
    const before = headings.filter((h) => h.compareDocumentPosition(card) & Node.DOCUMENT_POSITION_FOLLOWING);
    return headings.length > 1 ? ", " + before[before.length - 1].textContent : "";
  };
  const line = (...parts) => {
    const p = document.createElement("p");
    p.append(...parts);
    found.append(p);
  };
  const stands = (card) => (isCut(card) ? ". Cut already." : ". Not cut yet.");
  const answer = () => {
    const hits = matches();
    found.textContent = "";
    if (!find.value.trim()) return hits;
    if (!hits.length) {
      const most = numbers.length ? Math.max(...numbers) : 0;
      line("No picket " + find.value.trim() + " here. Type a number from 1 to " + most + ".");
    }
    for (const card of hits) {
      const link = document.createElement("a");
      link.href = "#" + card.id;
      link.textContent = "Picket " + card.dataset.number + runName(card);
      const words = all(".kept, .how, .remark", card).map((part) => part.textContent.trim());
      line(link, ": keep " + words.join(", ") + stands(card));
    }
    return hits;
  };
  let next = 0;
  const go = (card) => {
    one("[data-cards]").dataset.show = "all";
    one("input[name=show][value=all]").checked = true;
    showBays();
    found.textContent = "";
    line("At picket " + card.dataset.number + runName(card) + ": keep " + card.querySelector(".kept").textContent + stands(card));
    for (const other of all(".here")) other.classList.remove("here");
    card.classList.add("here");
    card.querySelector("input").focus({ preventScroll: true });
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
  found.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    if (!link) return;
    event.preventDefault();
    go(document.getElementById(link.hash.slice(1)));
  });

  const bar = one("[data-bar]");
  bar.hidden = cards.length === 0;
  new ResizeObserver(() => document.documentElement.style.setProperty("--bar", bar.offsetHeight + "px")).observe(bar);
  one("[data-choice]").hidden = cards.length === 0;
  one("[data-clear]").hidden = false;
  take(read());
  tellStorage();
})();
