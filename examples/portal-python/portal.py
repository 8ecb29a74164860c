"""A partner asks what a repair costs his customer, what he pays for it and what he keeps.

The server's address stands in EVENFARE_URL, the partner's token in EVENFARE_TOKEN: a command line can be read
by whoever is on the same machine.
"""

import argparse
import os
import sys
from pathlib import Path

import grpc
from google.protobuf import json_format
from google.rpc import error_details_pb2
from grpc_status import rpc_status

from money import shown

# The code made from proto/; the packages in it begin at its folder.
sys.path.insert(0, str(Path(__file__).parent / "stubs"))
from evenfare.v1 import category_pb2, document_pb2, job_pb2, kept_quote_pb2, offer_pb2, partner_service_pb2  # noqa: E402
from evenfare.v1.partner_service_pb2_grpc import PartnerServiceStub  # noqa: E402

# Seconds to an answer. A price takes milliseconds; what does not come in ten seconds is lost.
DEADLINE = 10


def price(portal, args):
    """Prices a job that stands in a file."""
    try:
        job = json_format.Parse(args.job.read_text(encoding="utf-8"), job_pb2.Job())
    except (OSError, ValueError, json_format.ParseError) as error:
        sys.exit(f"{args.job}: {error}")
    request = partner_service_pb2.PriceOwnJobRequest(job=job)
    if args.takes_over is not None:
        # A list that is there and empty says that he takes over nothing.
        request.takes_over.SetInParent()
        request.takes_over.works.extend(category_pb2.Work.Value(f"WORK_{work.upper()}") for work in args.takes_over)
    print_quote(portal.PriceOwnJob(request, timeout=DEADLINE).quote)


def quotes(portal, _args):
    """Lists the quotes that he is on, page by page."""
    rows = []
    request = partner_service_pb2.ListOwnQuotesRequest()
    while True:
        page = portal.ListOwnQuotes(request, timeout=DEADLINE)
        rows.extend(
            (
                quote.number,
                word(kept_quote_pb2.QuoteState, quote.state),
                day(quote.quoted),
                quote.customer,
                f"{shown(quote.end_net)} {quote.end_net.currency_code}",
            )
            for quote in page.quotes
        )
        if not page.next_page_token:
            break
        request.page_token = page.next_page_token
    if rows:
        print_table([("Number", "State", "Quoted", "Customer", "End price, net"), *rows])
    else:
        print("no quotes")


def quote(portal, args):
    """Shows one of them."""
    kept = portal.GetOwnQuote(partner_service_pb2.GetOwnQuoteRequest(number=args.number), timeout=DEADLINE).quote
    print(f"{kept.number}, {word(kept_quote_pb2.QuoteState, kept.state)}")
    print_quote(kept.quote)


def document(portal, args):
    """Fetches a document and writes it into a folder, under the name that the workshop gives it."""
    choice = document_pb2.DocumentChoice(
        number=args.number,
        kind=document_pb2.DocumentKind.Value(f"DOCUMENT_KIND_{args.kind.upper().replace('-', '_')}"),
        format=document_pb2.DocumentFormat.Value(f"DOCUMENT_FORMAT_{args.format.upper()}"),
        language_code=args.language or "",
    )
    request = partner_service_pb2.GetOwnDocumentRequest(document=choice)
    pieces = [answer.piece for answer in portal.GetOwnDocument(request, timeout=DEADLINE)]
    head, content = pieces[0].head, b"".join(piece.content for piece in pieces)
    # A stream that was cut off is no document, and a name of folders no name.
    if len(content) != head.size or Path(head.file_name).name != head.file_name:
        sys.exit("the document did not come whole")
    path = args.folder / head.file_name
    path.write_bytes(content)
    print(f"{path} ({head.media_type})")


def print_quote(quote):
    """The end price line by line, and what is his of it."""
    print(f"{quote.reference} for {quote.customer.name}, tariff {quote.edition}, in {quote.currency_code}")
    print(f"valid until {day(quote.valid_until)}")
    for offer in (quote.main, *quote.alternatives):
        print()
        if offer.id != "main":
            print(f"Instead: {offer.text or offer.id}")
        print_offer(offer)
    for refused in quote.refused:
        print(f"\nInstead, {refused.id}: not to be had by your route")


def print_offer(offer):
    end = offer.end
    rows = [(line.text, shown(line.net)) for line in end.lines]
    rows += [("", ""), ("End price, net", shown(end.net))]
    # His own share is the only one that he is told, and names him.
    for share in offer.shares:
        for sale in offer.sales:
            if sale.seller != share.partner:
                continue
            rows += [("", "")] + charged(sale)
            by_whom = owed(sale)
            if by_whom and end.HasField("vat_rate_percent") and end.vat_due.amount_minor:
                rows += [(f"VAT {end.vat_rate_percent} % in his country, {by_whom}", shown(end.vat_due))]
        rows += [("", "")]
        rows += [
            (f"You pay {'the workshop' if sale.seller == 'workshop' else sale.seller}, net", shown(sale.net))
            for sale in offer.sales
            if sale.buyer == share.partner
        ]
        rows += [("You keep", shown(share.share))]
    print_table(rows)
    if offer.HasField("warranty"):
        cycles = f", {offer.warranty.cycles} duty cycles at most" if offer.warranty.HasField("cycles") else ""
        print(f"\nwarranty until {day(offer.warranty.until)}{cycles}")
        for excluded in offer.warranty.excludes:
            print(f"  but not for: {excluded}")
    for flag in offer.flags:
        print(f"note: {word(offer_pb2.Flag, flag)}")


def charged(sale):
    """What he charges for his own sale: VAT only where he is the one to charge it."""
    buyer = "your customer" if sale.buyer == "customer" else sale.buyer
    rows = [(f"You charge {buyer}, net", shown(sale.net))]
    for group in sale.vat:
        category = category_code(group.category)
        why = group.reason if group.HasField("reason") else f"{group.rate_percent} %"
        rows.append((f"VAT {category}, {why}", shown(group.tax)))
    return rows + [(f"You charge {buyer}, gross", shown(sale.gross))]


def owed(sale):
    """Who is to pay the VAT of the end price where its seller does not charge it; nothing where he does."""
    categories = {group.category for group in sale.vat}
    if sale.buyer != "customer" or categories <= {offer_pb2.VAT_CATEGORY_S}:
        return ""
    if offer_pb2.VAT_CATEGORY_O in categories:
        return "which he declares himself if it is taxable there"
    part = "in part " if offer_pb2.VAT_CATEGORY_S in categories else ""
    return f"{part}owed by your customer"


def category_code(category):
    """The code that EN 16931 has for a VAT category; a number for what a newer server has to say."""
    if category not in offer_pb2.VatCategory.values():
        return str(category)
    return offer_pb2.VatCategory.Name(category).removeprefix("VAT_CATEGORY_")


def print_table(rows):
    """Columns as wide as they have to be, the last to the right."""
    widths = [max(map(len, column)) for column in zip(*rows)]
    for *cells, last in rows:
        left = "  ".join(cell.ljust(width) for cell, width in zip(cells, widths))
        print(f"{left}  {last.rjust(widths[-1])}".rstrip())


def day(date):
    return f"{date.year:04}-{date.month:02}-{date.day:02}"


def word(enum, value):
    """`under warranty` for FLAG_UNDER_WARRANTY; a number for what a newer server has to say."""
    if value not in enum.values():
        return str(value)
    prefix = enum.Name(0).removesuffix("UNSPECIFIED")
    return enum.Name(value).removeprefix(prefix).replace("_", " ").lower()


def explain(error):
    """Why a call was refused: the status, its stable reason, and every field that is wrong."""
    reason, fields, wait = "", [], ""
    status = rpc_status.from_call(error)
    for detail in status.details if status else ():
        info, bad, retry = error_details_pb2.ErrorInfo(), error_details_pb2.BadRequest(), error_details_pb2.RetryInfo()
        if detail.Unpack(info):
            reason = f" {info.reason}"
        elif detail.Unpack(bad):
            fields = [(violation.field, violation.description) for violation in bad.field_violations]
        elif detail.Unpack(retry):
            wait = f" (again after {retry.retry_delay.ToJsonString()})"
    print(f"{error.code().name}{reason}: {error.details()}{wait}", file=sys.stderr)
    for field, description in fields:
        print(f"  {field}: {description}", file=sys.stderr)


def channel(url):
    scheme, _, address = url.partition("://")
    if scheme == "https":
        return grpc.secure_channel(address, grpc.ssl_channel_credentials())
    if scheme == "http":
        return grpc.insecure_channel(address)
    sys.exit(f"EVENFARE_URL: expected https://HOST:PORT or http://HOST:PORT, found {url}")


class Bearer(grpc.UnaryUnaryClientInterceptor, grpc.UnaryStreamClientInterceptor):
    """Puts the token on every call."""

    def __init__(self, token):
        self.metadata = (("authorization", f"Bearer {token}"),)

    def intercept_unary_unary(self, continuation, details, request):
        return continuation(details._replace(metadata=self.metadata), request)

    intercept_unary_stream = intercept_unary_unary


def arguments():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    one = commands.add_parser("price", help="price a job: JSON as protobuf maps evenfare.v1.Job to it")
    one.add_argument("job", type=Path)
    works = [name.removeprefix("WORK_").lower() for name in category_pb2.Work.keys()[1:]]
    one.add_argument("--takes-over", nargs="*", choices=works, help="what you do yourself; all you may if not given")
    one.set_defaults(run=price)
    one = commands.add_parser("quotes", help="list the quotes that you are on")
    one.set_defaults(run=quotes)
    one = commands.add_parser("quote", help="show one of them")
    one.add_argument("number")
    one.set_defaults(run=quote)
    one = commands.add_parser("document", help="fetch your customer's quote, your own sheet, or an invoice to you")
    one.add_argument("number", help="of the quote; of the invoice or the credit note")
    one.add_argument("--kind", choices=("quote", "partner", "invoice", "credit-note"), default="quote")
    one.add_argument("--format", choices=("pdf", "xml"), default="pdf")
    one.add_argument("--language", help="en, de, pl, fr or cs; else that of whom it is for")
    one.add_argument("--folder", type=Path, default=Path(), help="where to write it")
    one.set_defaults(run=document)
    return parser.parse_args()


def main():
    args = arguments()
    token = os.environ.get("EVENFARE_TOKEN") or sys.exit("EVENFARE_TOKEN: expected the token that the workshop gave you")
    with channel(os.environ.get("EVENFARE_URL", "http://127.0.0.1:50051")) as open_channel:
        portal = PartnerServiceStub(grpc.intercept_channel(open_channel, Bearer(token)))
        try:
            args.run(portal, args)
        except grpc.RpcError as error:
            explain(error)
            sys.exit(1)


if __name__ == "__main__":
    main()
