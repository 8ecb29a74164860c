## The office's sheet.

cost = Cost
contribution = Contribution
workshop-net = The workshop keeps
share = Share
route = Route
where-it-goes = Where the end price goes
carried-by-partner = { $amount } carried by a partner
total = Total
sales = Sales
refused-alternatives = Alternatives that this route cannot carry
refused-by = Refused by the agreement of { $partner }
shares-agreed = Shares as agreed
shares-available = Left for shares
working = The working
working-of-others = The working of the job itself. Alternatives are worked out by the same rules; “evenfare explain --offer” shows how.
office-confidential = For the office only: holds cost and shares.
