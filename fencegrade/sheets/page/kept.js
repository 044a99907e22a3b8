// What is kept on this device for a job: ticks and typed texts, each with a count of its changes, so that two
// phones can be merged without loss: of two values the one changed more often stands, of equals the ticked one.
const keptOf = (storeName) => {
  const empty = () => ({ ticks: {}, texts: {} });
  const sound = (kept) => {
    const clean = empty();
    for (const part of ["ticks", "texts"]) {
      const given = kept && typeof kept[part] === "object" && kept[part] ? kept[part] : {};
      for (const [key, value] of Object.entries(given)) {
        const good = Array.isArray(value) && Number.isInteger(value[0]) && value[0] > 0;
        if (good && (part === "ticks" ? [0, 1].includes(value[1]) : typeof value[1] === "string")) clean[part][key] = value;
      }
    }
    return clean;
  };
  const store = { kept: empty(), keeps: true };
  store.read = () => {
    store.kept = empty();
    try {
      store.kept = sound(JSON.parse(window.localStorage.getItem(storeName) || "{}"));
    } catch (error) {
      store.keeps = !(error instanceof DOMException);
    }
  };
  store.write = () => {
    try {
      window.localStorage.setItem(storeName, JSON.stringify(store.kept));
    } catch {
      store.keeps = false;
    }
  };
  store.isTicked = (key) => (store.kept.ticks[key] || [0, 0])[1] === 1;
  store.tick = (key, on) => {
    if (store.isTicked(key) !== on) store.kept.ticks[key] = [(store.kept.ticks[key] || [0])[0] + 1, on ? 1 : 0];
  };
  store.textOf = (key) => (store.kept.texts[key] || [0, ""])[1];
  store.put = (key, text) => {
    if (store.textOf(key) !== text) store.kept.texts[key] = [(store.kept.texts[key] || [0])[0] + 1, text];
  };
  store.given = () => JSON.stringify({ fencegrade: "kept/1", ...store.kept });
  // Take in another phone's text; the number of values that changed here, or -1 where it is no such text.
  store.merge = (text) => {
    let other;
    try {
      other = JSON.parse(text);
    } catch {
      return -1;
    }
    if (!other || other.fencegrade !== "kept/1") return -1;
    const clean = sound(other);
    let changed = 0;
    for (const part of ["ticks", "texts"]) {
      for (const [key, value] of Object.entries(clean[part])) {
        const mine = store.kept[part][key] || [0, part === "ticks" ? 0 : ""];
        const wins = value[0] > mine[0] || (value[0] === mine[0] && value[1] > mine[1]);
        if (!wins) continue;
        if (value[1] !== mine[1]) changed += 1;
        store.kept[part][key] = value;
      }
    }
    return changed;
  };
  return store;
};
