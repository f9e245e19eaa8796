// Drag a food onto a tray: the same as tapping that tray's number, which works without this.
(() => {
  const kind = "text/x-item";
  const ready = () => document.querySelectorAll("form.place").forEach((form) => { form.draggable = true; });
  const trayOf = (event) => event.target.closest?.("[data-tray]");
  document.addEventListener("dragstart", (event) => {
    const form = event.target.closest?.("form.place");
    if (form) event.dataTransfer.setData(kind, form.dataset.item);
  });
  document.addEventListener("dragover", (event) => {
    const tray = trayOf(event);
    document.querySelectorAll(".target").forEach((one) => one.classList.toggle("target", one === tray));
    if (!tray || !event.dataTransfer.types.includes(kind)) return;
    event.preventDefault();
    tray.classList.add("target");
  });
  document.addEventListener("drop", (event) => {
    const tray = trayOf(event);
    const item = event.dataTransfer.getData(kind);
    if (!tray || !item) return;
    event.preventDefault();
    tray.classList.remove("target");
    document.getElementById(`tap-${item}-${tray.dataset.tray}`)?.click();
  });
  document.addEventListener("htmx:afterSwap", ready);
  ready();
})();
