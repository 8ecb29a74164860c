import { create } from "@bufbuild/protobuf";
import { FAMILIES, FINDINGS, FOUND } from "./catalogue";
import { byId, element } from "./dom";
import { Work } from "./gen/evenfare/v1/category_pb";
import { PriceOwnJobRequestSchema, type PriceOwnJobRequest } from "./gen/evenfare/v1/partner_service_pb";

// Each field of the form is named by its path in the request, so that a refusal finds it.

const form = byId("job", HTMLFormElement);
const findings = byId("findings", HTMLOListElement);

/** Fills the lists, and the findings of the demo job. */
export function prepare(): void {
  for (const [list, entries] of [["families", FAMILIES], ["catalogue", FINDINGS]] as const) {
    byId(list, HTMLDataListElement).append(...entries.map(([value, text]) => element("option", { value }, text)));
  }
  for (const [code, position] of FOUND) addFinding(code, position);
  byId("add-finding", HTMLButtonElement).addEventListener("click", () => addFinding("", "").focus());
  const all = byId("takes-all", HTMLInputElement);
  const works = byId("works", HTMLFieldSetElement);
  const follow = () => void (works.disabled = works.hidden = all.checked);
  all.addEventListener("change", follow);
  follow();
}

function addFinding(code: string, position: string): HTMLInputElement {
  const codeField = element("input", { list: "catalogue", value: code, autocomplete: "off", spellcheck: "false" });
  const positionField = element("input", { value: position, autocomplete: "off", spellcheck: "false" });
  const remove = element("button", { type: "button", class: "quiet remove" }, "×");
  const meaning = element("small", { class: "meaning" });
  const row = element(
    "li",
    {},
    element("label", { class: "field" }, element("span", {}, "Finding"), codeField, meaning),
    element("label", { class: "field" }, element("span", {}, "Place"), positionField),
    remove,
  );
  const explain = () => {
    meaning.textContent = FINDINGS.find(([known]) => known === codeField.value)?.[1] ?? "";
    remove.setAttribute("aria-label", `Remove ${codeField.value || "this finding"}`);
  };
  codeField.addEventListener("input", explain);
  remove.addEventListener("click", () => {
    row.remove();
    number();
    byId("add-finding", HTMLButtonElement).focus();
  });
  findings.append(row);
  explain();
  number();
  return codeField;
}

/** Names the findings by their places, as a refusal does. */
function number(): void {
  for (const [index, row] of [...findings.children].entries()) {
    const [code, position] = row.querySelectorAll("input");
    code!.name = `job.units[0].findings[${index}].code`;
    position!.name = `job.units[0].findings[${index}].position`;
  }
}

/** The request as the form says it. What is not said is left out, what is wrong is for the server to say. */
export function read(): PriceOwnJobRequest {
  const fields = new FormData(form);
  const text = (name: string) => String(fields.get(name) ?? "").trim();
  const said = (name: string) => text(name) || undefined;
  const date = (name: string) => {
    const [year, month, day] = text(name).split("-").map(Number);
    return year && month && day ? { year, month, day } : undefined;
  };
  const works = fields.getAll("takes_over.works").map((name) => Work[String(name) as keyof typeof Work]);
  const unit = "job.units[0]";
  const parcel = `${unit}.parcels[0]`;
  return create(PriceOwnJobRequestSchema, {
    // Not said, he takes over all he may; said and empty, nothing.
    takesOver: fields.has("takes_all") ? undefined : { works },
    job: {
      reference: text("job.reference"),
      received: date("job.received"),
      customer: {
        name: text("job.customer.name"),
        vatId: said("job.customer.vat_id"),
        business: true,
        postcode: text("job.customer.postcode"),
        city: text("job.customer.city"),
        countryCode: text("job.customer.country_code"),
      },
      units: [
        {
          family: text(`${unit}.family`),
          serial: text(`${unit}.serial`),
          built: date(`${unit}.built`),
          cycles: /^\d+$/.test(text(`${unit}.cycles`)) ? BigInt(text(`${unit}.cycles`)) : undefined,
          declaredValue: text(`${unit}.declared_value`),
          parcels: [
            {
              lengthCm: text(`${parcel}.length_cm`),
              widthCm: text(`${parcel}.width_cm`),
              heightCm: text(`${parcel}.height_cm`),
              weightKg: text(`${parcel}.weight_kg`),
            },
          ],
          findings: [...findings.children].map((_, index) => ({
            code: text(`${unit}.findings[${index}].code`),
            position: said(`${unit}.findings[${index}].position`),
          })),
        },
      ],
    },
  });
}
