// Serves dist/ to this machine. Started by itself it prints the address, which the server has to allow.
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { argv } from "node:process";
import { pathToFileURL } from "node:url";

const FILES = new Map([
  ["/", ["index.html", "text/html; charset=utf-8"]],
  ["/main.js", ["main.js", "text/javascript; charset=utf-8"]],
  ["/main.js.map", ["main.js.map", "application/json"]],
  ["/style.css", ["style.css", "text/css; charset=utf-8"]],
  ["/style.css.map", ["style.css.map", "application/json"]],
]);

/** The page on a port of the loopback, a free one for 0; gives the server and the page's origin. */
export async function serve(port) {
  const server = createServer(async (request, response) => {
    const known = FILES.get(new URL(request.url, "http://page").pathname);
    if (!known) return void response.writeHead(404).end();
    const [name, type] = known;
    try {
      const content = await readFile(new URL(`dist/${name}`, import.meta.url));
      response.writeHead(200, { "content-type": type, "cache-control": "no-store" }).end(content);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise((resolve, reject) => server.once("error", reject).listen(port, "127.0.0.1", resolve));
  return { server, origin: `http://127.0.0.1:${server.address().port}` };
}

if (import.meta.url === pathToFileURL(argv[1]).href) {
  const { origin } = await serve(Number(argv[2] ?? 8080));
  console.log(`the page is at ${origin}`);
}
