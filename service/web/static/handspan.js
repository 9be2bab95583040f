// Enhances the search box only: the same page that Enter would open is asked for while typing,
// and its results are offered under the box. Without script, Enter does the job.
const box = document.querySelector(".search input");
const answers = document.querySelector(".answers");
let asked = 0;

async function answer() {
  const turn = ++asked;
  const words = box.value.trim();
  let links = [];
  if (words.length > 1) {
    const reply = await fetch(`${box.form.action}?q=${encodeURIComponent(words)}`);
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    links = reply.ok ? [...page.querySelectorAll("[data-result]")].slice(0, 8) : [];
  }
  if (turn !== asked) return; // a later keystroke has been asked since
  answers.replaceChildren(...links.map((found) => {
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = found.getAttribute("href");
    link.textContent = found.textContent;
    item.append(link);
    return item;
  }));
}

if (box && answers) {
  let pause;
  box.addEventListener("input", () => {
    clearTimeout(pause);
    pause = setTimeout(answer, 150);
  });
  box.form.addEventListener("keydown", (event) => {
    if (event.key === "Escape") answers.replaceChildren();
  });
}
