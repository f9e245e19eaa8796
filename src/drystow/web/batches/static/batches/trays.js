// Drag a food onto a tray, or tap it and then the tray. Both press the buttons that are there without this too.
(() => {
  const FAR = 8, EDGE = 70; // pixels
  let held = null, picked = null, dragged = false;

  const chipOf = (event) => event.target.closest?.(".chip");
  const placeAt = (x, y) => document.elementFromPoint(x, y)?.closest("[data-tray], [data-off]");
  const put = (chip, place) => {
    const { item, load } = chip.dataset, tray = place.dataset.tray;
    if (item && tray) document.getElementById(`tap-${item}-${tray}`)?.click();
    const form = load && document.getElementById(`on-${load}`);
    if (!form || form.closest("[data-tray]") === place) return;
    if (tray) form.elements.tray.value = tray;
    form.querySelector(`[data-does=${tray ? "move" : "take"}]`).click();
  };
  const pick = (chip) => {
    picked = chip;
    document.querySelectorAll(".chip").forEach((one) => one.setAttribute("aria-pressed", String(one === chip)));
    document.querySelectorAll(".here").forEach((one) => { one.hidden = !chip; });
    if (chip) document.getElementById("said").textContent = chip.dataset.said;
  };
  const mark = (place) => document.querySelectorAll("[data-tray], [data-off]")
    .forEach((one) => one.classList.toggle("target", one === place));
  const follow = () => {
    if (!held?.ghost) return;
    held.ghost.style.transform = `translate(${held.x - 26}px, ${held.y - 26}px)`;
    const up = held.y < EDGE, down = held.y > innerHeight - EDGE;
    if (up || down) scrollBy(0, up ? -8 : 8);
    mark(placeAt(held.x, held.y));
    requestAnimationFrame(follow);
  };
  const letGo = () => {
    held?.ghost?.remove();
    held = null;
    mark(null);
  };

  document.addEventListener("pointerdown", (event) => {
    const chip = chipOf(event);
    dragged = false;
    if (!chip || event.button) return;
    held = { chip, from: [event.clientX, event.clientY], x: event.clientX, y: event.clientY, ghost: null };
    chip.setPointerCapture?.(event.pointerId);
  });
  document.addEventListener("pointermove", (event) => {
    if (!held) return;
    held.x = event.clientX;
    held.y = event.clientY;
    if (held.ghost || Math.hypot(held.x - held.from[0], held.y - held.from[1]) < FAR) return;
    held.ghost = document.body.appendChild(held.chip.cloneNode(true));
    held.ghost.classList.add("ghost");
    held.ghost.setAttribute("aria-hidden", "true");
    dragged = true;
    pick(null);
    follow();
  });
  document.addEventListener("pointerup", (event) => {
    const done = held?.ghost && { chip: held.chip, place: placeAt(event.clientX, event.clientY) };
    letGo();
    if (done?.place) put(done.chip, done.place);
  });
  document.addEventListener("pointercancel", letGo);
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    letGo();
    pick(null);
  });
  document.addEventListener("click", (event) => {
    const chip = chipOf(event);
    if (chip) {
      if (!dragged) pick(chip === picked ? null : chip);
      dragged = false;
      return;
    }
    const place = picked && event.target.closest?.(".here, svg.tray")?.closest("[data-tray]");
    if (!place) return;
    put(picked, place);
    pick(null);
  });
  const ready = () => {
    document.querySelectorAll(".chip").forEach((chip) => { chip.hidden = false; });
    picked = null;
  };
  document.addEventListener("htmx:afterSwap", ready);
  ready();
})();
