## What the engine itself says of lines and steps; everything else is in the workshop's own catalogue.

# Lines of the end price.
line-exchange = Austauschgerät
line-inspection = Befundung
line-leg-in = Transport zur Werkstatt
line-leg-out = Rücktransport
line-packaging = Verpackung
line-minimum = Aufstockung auf den Mindestbetrag
line-ending = Preisglättung

# What lines are for.
category-part = Ersatzteile
category-labour = Arbeitszeit
category-test = Prüfung
category-courier = Transport
category-flat = Festpreis
category-exchange = Austauschgerät
category-inspection = Befundung
category-surcharge = Zuschläge
category-minimum = Mindestbetrag
category-ending = Preisglättung

# Why a step is there.
why-finding = Befund { $code }
why-always = Erneuerungsliste: immer
why-cycles = Erneuerungsliste: ab { $cycles ->
    [one] { $cycles } Schaltspiel
   *[other] { $cycles } Schaltspielen
}
why-years = Erneuerungsliste: ab { $years ->
    [one] { $years } Jahr
   *[other] { $years } Jahren
}
why-wear = Erneuerungsliste: ab { $share } verbrauchter Lebensdauer
why-not-known = { $why }; nicht bekannt, daher als fällig angesehen
why-family = Prüfung der Baureihe
