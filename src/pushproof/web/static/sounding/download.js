/* Ask the server for a file and hand it to the browser. */

import { Fault, client } from "/static/shell.js";
import { say } from "/static/text/say.js";

/* Return the name of the file; throws Fault with the words of the server. */
export async function download(address, body) {
  let got;
  try {
    got = await fetch(address, {
      method: "POST",
      headers: { "content-type": "application/json", "x-client": client },
      body: JSON.stringify(body),
    });
  } catch {
    throw new Fault(0, say("shell.lost"));
  }
  if (!got.ok) {
    throw new Fault(got.status, (await got.json()).error);
  }
  const name = /filename="([^"]+)"/.exec(got.headers.get("content-disposition"))?.[1] ?? "file";
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await got.blob());
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
  return name;
}
