## What the engine itself says of lines and steps; everything else is in the workshop's own catalogue.

# Lines of the end price.
line-exchange = Výměnná jednotka
line-inspection = Posouzení závady
line-leg-in = Doprava do servisu
line-leg-out = Doprava zpět
line-packaging = Balné
line-minimum = Doplatek do minimální částky
line-ending = Úprava na cenový krok

# What lines are for.
category-part = Díly
category-labour = Práce
category-test = Zkoušky
category-courier = Doprava
category-flat = Paušální cena
category-exchange = Výměnná jednotka
category-inspection = Posouzení závady
category-surcharge = Příplatky
category-minimum = Minimální částka
category-ending = Úprava na cenový krok

# Why a step is there.
why-finding = Nález { $code }
why-always = Seznam obnovy: vždy
why-cycles = Seznam obnovy: od { $cycles ->
    [one] { $cycles } pracovního cyklu
    [few] { $cycles } pracovních cyklů
    [many] { $cycles } pracovního cyklu
   *[other] { $cycles } pracovních cyklů
}
why-years = Seznam obnovy: od { $years ->
    [one] { $years } roku
    [few] { $years } let
    [many] { $years } roku
   *[other] { $years } let
}
why-wear = Seznam obnovy: od { $share } spotřebované životnosti
why-not-known = { $why }; není známo, proto se považuje za splněné
why-family = Zkouška stanovená pro typovou řadu
