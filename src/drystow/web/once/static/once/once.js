// Whoever goes back to a form and sends it again means a new write: its forms get new keys.
(() => {
  const key = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (one) => one.toString(16).padStart(2, "0")).join("");
  addEventListener("pageshow", (event) => {
    if (!event.persisted && performance.getEntriesByType("navigation")[0]?.type !== "back_forward") return;
    document.querySelectorAll('form input[name="once"]').forEach((field) => { field.value = key(); });
  });
})();
