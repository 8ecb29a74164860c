/** An element with its attributes and what is in it. Text is put in as text and never read as HTML. */
export function element<K extends keyof HTMLElementTagNameMap>(
  name: K,
  attributes: Record<string, string> = {},
  ...content: (Node | string)[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...content);
  return made;
}

/** The element of that id; the page is wrong without it. */
export function byId<T extends HTMLElement>(id: string, kind: new () => T): T {
  const found = document.getElementById(id);
  if (!(found instanceof kind)) throw new Error(`the page has no ${kind.name} #${id}`);
  return found;
}

/** A sentence of the server, with what stands in backticks set as code. */
export function sentence(text: string): (Node | string)[] {
  const parts = text.split("`");
  // Backticks come in pairs; a lone one stays what it is.
  if (parts.length % 2 === 0) return [text];
  return parts.map((part, index) => (index % 2 === 0 ? part : element("code", {}, part)));
}
