// Counts down to the moment until which dried food may lie open. Without it the page shows the clock time.
for (const place of document.querySelectorAll(".countdown")) {
  const until = Date.parse(place.dataset.until);
  const show = () => {
    const left = Math.floor((until - Date.now()) / 1000);
    place.textContent = left <= 0 ? place.dataset.over
      : `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
    if (left > 0) setTimeout(show, 1000 - ((Date.now() - until) % 1000 + 1000) % 1000);
  };
  show();
}
