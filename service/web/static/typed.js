// What somebody typed outlives a lost signal. The fields of a form are kept when it is sent, and when its page goes away
// with something typed into it; they are offered back when the same form is opened empty, and dropped once the register
// says that it recorded them, and on signing out. They are kept in sessionStorage, which belongs to this tab alone and
// is gone when it closes: a child's data must not lie about on a borrowed phone. They are offered only to whoever typed
// them. Nothing of signing in or of accounts is kept.
const KEPT = "typed:";
const SENT = "sent";
const who = document.querySelector(".who summary")?.textContent;

const keyOf = (form) => KEPT + new URL(form.action).pathname;
const fieldsOf = (form) => [...new FormData(form)].filter(([name, value]) =>
  typeof value === "string" && form.elements[name].type !== "hidden");
const forms = [...document.querySelectorAll("main form[method=post]")].filter((form) =>
  who && !new URL(form.action).pathname.startsWith("/account") && !form.querySelector("[type=password]") && fieldsOf(form).length);
const signingOut = document.querySelector("form[action='/sign-out']");

function keep(form, sent) {
  sessionStorage.setItem(keyOf(form), JSON.stringify({ who, sent, at: Date.now(), fields: fieldsOf(form) }));
}

function forgetAll() {
  for (const key of Object.keys(sessionStorage)) if (key.startsWith(KEPT) || key === SENT) sessionStorage.removeItem(key);
}

function notice(form, words, ...buttons) {
  form.querySelector(":scope > .kept")?.remove();
  const box = document.createElement("div");
  box.className = "notice ask kept";
  box.setAttribute("role", "status");
  const sentence = document.createElement("p");
  sentence.textContent = words;
  box.append(sentence, ...buttons);
  form.prepend(box);
  box.scrollIntoView({ block: "nearest" });
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

function putBack(form, fields) {
  for (const input of form.querySelectorAll("[type=checkbox], [type=radio]")) {
    input.checked = fields.some(([name, value]) => name === input.name && value === input.value);
  }
  for (const [name, value] of fields) {
    const field = form.elements[name];
    if (field && !["checkbox", "radio", "hidden"].includes(field.type)) field.value = value;
  }
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function offer(form) {
  const kept = JSON.parse(sessionStorage.getItem(keyOf(form)));
  if (kept && kept.who !== who) sessionStorage.removeItem(keyOf(form));
  if (kept?.who !== who || JSON.stringify(kept.fields) === JSON.stringify(fieldsOf(form))) return;
  const at = new Date(kept.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const words = kept.sent
    ? `What you sent at ${at} may not have arrived: look whether it is recorded before you put it back.`
    : `What you typed at ${at} was not recorded.`;
  const done = () => form.querySelector(":scope > .kept").remove();
  notice(form, words,
    button("Put it back", () => { putBack(form, kept.fields); done(); }),
    button("Throw it away", () => { sessionStorage.removeItem(keyOf(form)); done(); }));
}

// If this page answers what was sent, it says that it was recorded, or that it was not. If it says neither, as after
// going back from a page that never came, nobody here knows.
const sent = sessionStorage.getItem(SENT);
const kept = JSON.parse(sessionStorage.getItem(sent));
sessionStorage.removeItem(SENT);
if (kept && new URLSearchParams(location.search).has("done")) sessionStorage.removeItem(sent);
else if (kept && document.querySelector("main [role=alert]")) sessionStorage.setItem(sent, JSON.stringify({ ...kept, sent: false }));

for (const form of forms) {
  let typed = false;
  offer(form);
  form.addEventListener("input", () => { typed = true; });
  form.addEventListener("submit", (event) => {
    typed = false;
    keep(form, navigator.onLine);
    if (navigator.onLine) {
      sessionStorage.setItem(SENT, keyOf(form));
    } else {
      event.preventDefault();
      notice(form, "There is no connection, so nothing was sent. What you typed is still here: send it when you are connected again.");
    }
  });
  addEventListener("pagehide", () => { if (typed) keep(form, false); });
}

if (signingOut) signingOut.addEventListener("submit", forgetAll);
