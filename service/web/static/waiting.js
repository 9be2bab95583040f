// A page that says that something is being worked out looks again by itself: after two, four and eight seconds,
// and then leaves it to the link beside. It stays where it is while somebody types or has opened or closed something.
const WAITS = [2000, 4000, 8000];
const key = `waits:${location.pathname}`;
const folded = () => [...document.querySelectorAll("details")].map((each) => each.open).join();

if (document.querySelector("[data-waiting]")) {
  const turn = Number(sessionStorage.getItem(key));
  const before = folded();
  let touched = false;
  addEventListener("input", () => { touched = true; });
  if (turn < WAITS.length) {
    setTimeout(() => {
      if (touched || folded() !== before || document.hidden) return;
      sessionStorage.setItem(key, turn + 1);
      location.reload();
    }, WAITS[turn]);
  }
} else {
  sessionStorage.removeItem(key);
}
