import { byId, element } from "./dom";
import { Category } from "./gen/evenfare/v1/category_pb";
import { Flag, type Offer, type Sale, VatCategory } from "./gen/evenfare/v1/offer_pb";
import type { Quote } from "./gen/evenfare/v1/quote_pb";
import { amount, day, word } from "./shown";

const place = byId("quote", HTMLElement);

/** Shows a quote in the place of the one before. */
export function show(quote: Quote, title: string): void {
  const facts = [
    ["Customer", quote.customer?.name ?? ""],
    ["Tariff", quote.edition],
    ["Valid until", day(quote.validUntil)],
    ["Goes back", day(quote.dispatch)],
  ];
  place.replaceChildren(
    element("h2", { id: "quote-title", tabindex: "-1" }, title),
    element("dl", { class: "facts" }, ...facts.map(([name, text]) => element("div", {}, element("dt", {}, name!), element("dd", {}, text!)))),
    ...[quote.main, ...quote.alternatives].flatMap((offer) => (offer ? [sheet(offer, quote.currencyCode)] : [])),
    ...quote.refused.map((offer) => element("p", { class: "note" }, `${offer.id}: not to be had by your route`)),
  );
}

function sheet(offer: Offer, currency: string): HTMLElement {
  const made = element("div", { class: "offer" });
  if (offer.id !== "main") made.append(element("h3", {}, offer.text || offer.id));
  made.append(his(offer, currency), lines(offer, currency));
  if (offer.warranty) {
    const cycles = offer.warranty.cycles === undefined ? "" : `, ${offer.warranty.cycles.toLocaleString()} duty cycles at most`;
    made.append(element("p", { class: "note warranty" }, element("strong", {}, "Warranty"), ` until ${day(offer.warranty.until)}${cycles}`));
    for (const excluded of offer.warranty.excludes) made.append(element("p", { class: "note" }, `Not covered: ${excluded}`));
  }
  for (const flag of offer.flags) made.append(element("p", { class: "note" }, `Note: ${word(Flag, flag)}`));
  return made;
}

/** What is his: the end price as one bar of what he pays and what he keeps. */
function his(offer: Offer, currency: string): HTMLElement {
  const made = element("div", { class: "his" });
  const end = offer.end?.net;
  if (end) made.append(figure("end", "End price, before VAT", amount(end), currency, "the same by any route"));
  // His own share is the only one he is told, and it names him.
  for (const { partner, share } of offer.shares) {
    const bought = offer.sales.find((sale) => sale.buyer === partner);
    if (!share || !bought?.net) continue;
    const pays = element("span", { class: "pays" });
    const keeps = element("span", { class: "keeps" });
    // Parts of the bar grow by whole minor units: no ratio is worked out here.
    pays.style.flexGrow = bought.net.amountMinor.toString();
    keeps.style.flexGrow = share.amountMinor.toString();
    made.append(element("div", { class: "bar", "aria-hidden": "true" }, pays, keeps));
    const seller = bought.seller === "workshop" ? "to the workshop" : `to ${bought.seller}`;
    made.append(
      figure("pays", "You pay", amount(bought.net), currency, seller),
      figure("keeps", "You keep", amount(share), currency, "before VAT"),
    );
  }
  return made;
}

function figure(kind: string, name: string, shown: string, currency: string, note: string): HTMLElement {
  return element(
    "p",
    { class: `figure ${kind}` },
    element("span", { class: "name" }, name),
    element("span", { class: "amount" }, shown, element("abbr", { title: currency }, ` ${currency}`)),
    element("small", {}, note),
  );
}

function lines(offer: Offer, currency: string): HTMLElement {
  const row = (kind: string, name: string, more: string, shown: string) =>
    element(
      "tr",
      { class: kind },
      element("th", { scope: "row" }, name, ...(more ? [" ", element("small", {}, more)] : [])),
      element("td", {}, shown),
    );
  const body = element("tbody");
  let category: Category | undefined;
  for (const line of offer.end?.lines ?? []) {
    if (line.category !== category) {
      category = line.category;
      const name = word(Category, category);
      body.append(element("tr", { class: "category" }, element("th", { colspan: "2", scope: "rowgroup" }, name)));
    }
    body.append(row("line", line.text, line.quantity, line.net ? amount(line.net) : ""));
  }
  const foot = element("tfoot");
  const { net, vatDue, vatRatePercent } = offer.end ?? {};
  if (net) foot.append(row("sum", "End price, before VAT", "", amount(net)));
  // His own share is the only one he is told, and it names him: VAT is that of his own sale.
  const partner = offer.shares[0]?.partner;
  for (const sale of offer.sales.filter(({ seller }) => seller === partner)) {
    const buyer = sale.buyer === "customer" ? "your customer" : sale.buyer;
    if (sale.buyer !== "customer" && sale.net) foot.append(row("", `You charge ${buyer}, before VAT`, "", amount(sale.net)));
    for (const { category, reason, ratePercent, tax } of sale.vat) {
      foot.append(row("", `VAT ${VatCategory[category] ?? category}`, reason ?? `${ratePercent} %`, tax ? amount(tax) : ""));
    }
    if (sale.gross) foot.append(row("sum", `You charge ${buyer}, with VAT`, "", amount(sale.gross)));
    const byWhom = owed(sale);
    if (byWhom && vatDue?.amountMinor) foot.append(row("", `VAT ${vatRatePercent} % in his country`, byWhom, amount(vatDue)));
  }
  if (!vatDue) foot.append(row("", "VAT", "no rate is known for the country", ""));
  return element(
    "table",
    { class: "lines" },
    element("caption", {}, `What your customer pays, line by line, in ${currency}`),
    element("thead", {}, element("tr", {}, element("th", { scope: "col" }, "For"), element("th", { scope: "col" }, "Before VAT"))),
    body,
    foot,
  );
}

/** Who is to pay the VAT of the end price where its seller does not charge it; nothing where he does. */
function owed(sale: Sale): string {
  const categories = new Set(sale.vat.map(({ category }) => category));
  const charged = categories.delete(VatCategory.S);
  if (sale.buyer !== "customer" || categories.size === 0) return "";
  if (categories.has(VatCategory.O)) return "which he declares himself if it is taxable there";
  return charged ? "in part owed by your customer" : "owed by your customer";
}
