## What the engine itself says of lines and steps; everything else is in the workshop's own catalogue.

# Lines of the end price.
line-exchange = Exchange unit
line-inspection = Inspection
line-leg-in = Courier to the workshop
line-leg-out = Courier back
line-packaging = Packaging
line-minimum = To the minimum charge
line-ending = Price ending

# What lines are for.
category-part = Parts
category-labour = Labour
category-test = Test
category-courier = Courier
category-flat = Fixed price
category-exchange = Exchange unit
category-inspection = Inspection
category-surcharge = Surcharges
category-minimum = Minimum charge
category-ending = Price ending

# Why a step is there.
why-finding = Finding { $code }
why-always = Refresh list: always
why-cycles = Refresh list: from { $cycles ->
    [one] { $cycles } duty cycle
   *[other] { $cycles } duty cycles
}
why-years = Refresh list: from { $years ->
    [one] { $years } year
   *[other] { $years } years
}
why-wear = Refresh list: from { $share } of its life used
why-not-known = { $why }; not known, so taken for due
why-family = Test of the family
