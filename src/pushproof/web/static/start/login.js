/* The page of the password. */

import { Fault, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";

await start({ page: "login", title: say("login.title") });
const fault = document.getElementById("fault");
const password = document.getElementById("password");
password.focus();

/* Only an address of this server, never one of another. */
function next() {
  const to = new URLSearchParams(location.search).get("to") ?? "/";
  const address = new URL(to, location.origin);
  return address.origin === location.origin ? address.pathname + address.search : "/";
}

document.getElementById("login").addEventListener("submit", async (event) => {
  event.preventDefault();
  fault.hidden = true;
  try {
    await tell("/api/login", { password: password.value });
    location.assign(next());
  } catch (error) {
    if (!(error instanceof Fault)) {
      throw error;
    }
    fault.textContent = error.message;
    fault.hidden = false;
    password.select();
  }
});
