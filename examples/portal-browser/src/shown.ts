import type { Date as Day } from "./gen/google/type/date_pb";
import type { Money } from "./gen/evenfare/v1/money_pb";

/**
 * An amount as the reader's language writes it, without its currency. From whole minor units to digits it
 * goes by integers and text alone: a `number` would be a binary fraction.
 */
export function amount(money: Money): string {
  const by = { style: "currency", currency: money.currencyCode } as const;
  const digits = new Intl.NumberFormat(undefined, by).resolvedOptions().maximumFractionDigits ?? 2;
  const sign = money.amountMinor < 0n ? "-" : "";
  const all = (sign ? -money.amountMinor : money.amountMinor).toString().padStart(digits + 1, "0");
  const whole = all.slice(0, all.length - digits);
  const decimal = digits === 0 ? `${sign}${whole}` : `${sign}${whole}.${all.slice(-digits)}`;
  // Text is formatted as it stands, to the last digit.
  const format = new Intl.NumberFormat(undefined, { minimumFractionDigits: digits, maximumFractionDigits: digits });
  return format.format(decimal as `${number}`);
}

/** A day as the reader's language writes it. */
export function day(date: Day | undefined): string {
  if (!date) return "";
  const noon = new Date(Date.UTC(date.year, date.month - 1, date.day, 12));
  return new Intl.DateTimeFormat(undefined, { dateStyle: "medium", timeZone: "UTC" }).format(noon);
}

/** `under warranty` for `UNDER_WARRANTY`; a number for what a newer server has to say. */
export function word(names: Record<number, string>, value: number): string {
  return (names[value] ?? String(value)).replaceAll("_", " ").toLowerCase();
}
