import { Code, ConnectError } from "@connectrpc/connect";
import { byId, element, sentence } from "./dom";
import { BadRequestSchema, ErrorInfoSchema } from "./gen/google/rpc/error_details_pb";

const box = byId("refusal", HTMLElement);

/** Takes all messages away. */
export function clear(): void {
  box.hidden = true;
  box.replaceChildren();
  for (const message of document.querySelectorAll(".mistake")) message.remove();
  for (const field of document.querySelectorAll<Field>("[aria-invalid]")) {
    field.removeAttribute("aria-invalid");
    field.setAttribute("aria-describedby", field.getAttribute("data-hint") ?? "");
  }
}

/** Tells why a call was refused: once in all, and each mistake beside its field. */
export function show(reason: unknown): void {
  const error = ConnectError.from(reason);
  if (error.code === Code.Canceled) return;
  clear();
  const status = Code[error.code].replace(/(?<=[a-z])(?=[A-Z])/g, "_").toUpperCase();
  const stable = error.findDetails(ErrorInfoSchema)[0]?.reason;
  box.append(
    element("p", { class: "status" }, [status, stable].filter(Boolean).join(" · ")),
    element("p", {}, ...sentence(error.rawMessage)),
  );
  const mistakes = error.findDetails(BadRequestSchema).flatMap((bad) => bad.fieldViolations);
  if (error.code === Code.Unauthenticated) mistakes.push({ field: "token", description: error.rawMessage } as never);
  const entries = mistakes.map(({ field: path, description }, index) => {
    const field = fieldOf(path);
    if (!field) return element("li", {}, `${path}: `, ...sentence(description));
    const id = `mistake-${index}`;
    mark(field, id, description);
    const link = element("a", { href: `#${field.id || (field.id = `field-${index}`)}` }, nameOf(field));
    link.addEventListener("click", (event) => {
      event.preventDefault();
      field.focus();
    });
    return element("li", {}, link, ": ", ...sentence(description));
  });
  if (entries.length > 0) box.append(element("ul", {}, ...entries));
  box.hidden = false;
  box.focus();
}

type Field = HTMLInputElement | HTMLSelectElement;

/** The field that a path names, or the first one inside it. */
function fieldOf(path: string): Field | undefined {
  const fields = [...document.querySelectorAll<Field>("input[name], select[name]")];
  return (
    fields.find((field) => field.name === path) ??
    fields.find((field) => [".", "[", "_"].some((next) => field.name.startsWith(path + next)))
  );
}

function mark(field: Field, id: string, description: string): void {
  field.setAttribute("aria-invalid", "true");
  // Its hint, if it has one, is read out as before.
  field.setAttribute("aria-describedby", `${field.getAttribute("aria-describedby") ?? ""} ${id}`.trim());
  field.closest(".field")?.append(element("small", { class: "mistake", id }, ...sentence(description)));
}

function nameOf(field: Field): string {
  return field.labels?.[0]?.querySelector("span")?.textContent ?? field.name;
}
