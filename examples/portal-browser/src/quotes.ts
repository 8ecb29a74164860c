import { byId, element } from "./dom";
import { QuoteState, type QuoteSummary } from "./gen/evenfare/v1/kept_quote_pb";
import { amount, day, word } from "./shown";

const rows = byId("quotes-rows", HTMLTableSectionElement);
const table = byId("quotes-table", HTMLTableElement);
const none = byId("no-quotes", HTMLParagraphElement);

/** Shows a page of quotes, behind those that stand there unless it is the first. */
export function show(
  page: QuoteSummary[],
  first: boolean,
  open: (number: string) => void,
  sheet: (number: string) => void,
): void {
  if (first) rows.replaceChildren();
  for (const quote of page) {
    const number = element("button", { type: "button", class: "link" }, quote.number);
    number.addEventListener("click", () => open(quote.number));
    const paper = element("button", { type: "button", class: "link", "aria-label": `PDF of ${quote.number}` }, "PDF");
    paper.addEventListener("click", () => sheet(quote.number));
    const cell = (name: string, ...content: (Node | string)[]) => element("td", { "data-name": name }, ...content);
    rows.append(
      element(
        "tr",
        {},
        element("th", { scope: "row" }, number),
        cell("State", element("span", { class: "state" }, word(QuoteState, quote.state))),
        cell("Customer", quote.customer),
        cell("Quoted", day(quote.quoted)),
        cell("End price", quote.endNet ? `${amount(quote.endNet)} ${quote.endNet.currencyCode}` : ""),
        cell("Sheet", paper),
      ),
    );
  }
  table.hidden = rows.childElementCount === 0;
  none.hidden = !table.hidden;
  none.textContent = "You are on no quote so far.";
}
