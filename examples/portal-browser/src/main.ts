import { createClient, type Interceptor } from "@connectrpc/connect";
import { createGrpcWebTransport } from "@connectrpc/connect-web";
import { byId } from "./dom";
import * as form from "./form";
import { DocumentKind } from "./gen/evenfare/v1/document_pb";
import { PartnerService } from "./gen/evenfare/v1/partner_service_pb";
import * as quote from "./quote";
import * as quotes from "./quotes";
import * as refusal from "./refusal";
import * as saved from "./saved";

const DEADLINE_MS = 10_000;

const server = byId("server", HTMLInputElement);
// Nothing but this field holds the token: it is gone with the page.
const token = byId("token", HTMLInputElement);
const status = byId("status", HTMLElement);
const more = byId("more-quotes", HTMLButtonElement);

const bearer: Interceptor = (next) => (call) => {
  call.header.set("authorization", `Bearer ${token.value.trim()}`);
  return next(call);
};

function portal() {
  const transport = createGrpcWebTransport({ baseUrl: server.value, interceptors: [bearer], defaultTimeoutMs: DEADLINE_MS });
  return createClient(PartnerService, transport);
}

/** One thing at a time: what was asked before is let go, and an answer that comes too late is not shown. */
let asked = new AbortController();

async function ask(button: HTMLButtonElement, saying: string, work: (signal: AbortSignal) => Promise<string>) {
  asked.abort();
  const own = (asked = new AbortController());
  refusal.clear();
  status.textContent = saying;
  button.setAttribute("aria-busy", "true");
  try {
    const done = await work(own.signal);
    if (asked === own) status.textContent = done;
  } catch (reason) {
    if (asked !== own) return;
    status.textContent = "";
    refusal.show(reason);
  } finally {
    button.removeAttribute("aria-busy");
  }
}

byId("job", HTMLFormElement).addEventListener("submit", (event) => {
  event.preventDefault();
  void ask(byId("price", HTMLButtonElement), "Pricing …", async (signal) => {
    const request = form.read();
    const answer = await portal().priceOwnJob(request, { signal });
    if (!answer.quote) throw new Error("the answer has no quote");
    quote.show(answer.quote, `Price of ${answer.quote.reference}`);
    byId("quote-title", HTMLElement).focus();
    return "Priced.";
  });
});

let nextPage = "";

async function list(first: boolean, button: HTMLButtonElement) {
  await ask(button, "Fetching your quotes …", async (signal) => {
    const page = await portal().listOwnQuotes({ pageSize: 20, pageToken: first ? "" : nextPage }, { signal });
    nextPage = page.nextPageToken;
    more.hidden = !nextPage;
    quotes.show(page.quotes, first, (number) => void open(number), (number) => void sheet(number));
    return "";
  });
}

async function open(number: string) {
  await ask(byId("list-quotes", HTMLButtonElement), `Fetching ${number} …`, async (signal) => {
    const kept = (await portal().getOwnQuote({ number }, { signal })).quote;
    if (!kept?.quote) throw new Error("the answer has no quote");
    quote.show(kept.quote, `Quote ${kept.number}`);
    byId("quote-title", HTMLElement).focus();
    return "";
  });
}

/** Fetches the partner's own sheet, and hands it to the browser, which opens or keeps it. */
async function sheet(number: string) {
  await ask(byId("list-quotes", HTMLButtonElement), `Fetching the sheet of ${number} …`, async (signal) => {
    const document = { number, kind: DocumentKind.PARTNER };
    const content: Uint8Array<ArrayBuffer>[] = [];
    let head;
    for await (const { piece } of portal().getOwnDocument({ document }, { signal })) {
      head ??= piece?.head;
      if (piece) content.push(new Uint8Array(piece.content));
    }
    const whole = new Blob(content, { type: head?.mediaType });
    if (!head || BigInt(whole.size) !== head.size) throw new Error("the document did not come whole");
    saved.open(whole, head.fileName);
    return `${head.fileName} is there.`;
  });
}

byId("list-quotes", HTMLButtonElement).addEventListener("click", (event) => void list(true, event.currentTarget as HTMLButtonElement));
more.addEventListener("click", () => void list(false, more));
server.value = new URLSearchParams(location.search).get("server") ?? server.value;
form.prepare();
