## What the engine itself says of lines and steps; everything else is in the workshop's own catalogue.

# Lines of the end price.
line-exchange = Urządzenie wymienne
line-inspection = Ekspertyza
line-leg-in = Transport do serwisu
line-leg-out = Transport zwrotny
line-packaging = Opakowanie
line-minimum = Dopłata do kwoty minimalnej
line-ending = Wyrównanie końcówki ceny

# What lines are for.
category-part = Części
category-labour = Robocizna
category-test = Próby
category-courier = Transport
category-flat = Cena ryczałtowa
category-exchange = Urządzenie wymienne
category-inspection = Ekspertyza
category-surcharge = Dopłaty
category-minimum = Kwota minimalna
category-ending = Wyrównanie końcówki ceny

# Why a step is there.
why-finding = Usterka { $code }
why-always = Lista wymian: zawsze
why-cycles = Lista wymian: od { $cycles ->
    [one] { $cycles } cyklu pracy
    [few] { $cycles } cykli pracy
    [many] { $cycles } cykli pracy
   *[other] { $cycles } cyklu pracy
}
why-years = Lista wymian: od { $years ->
    [one] { $years } roku
    [few] { $years } lat
    [many] { $years } lat
   *[other] { $years } roku
}
why-wear = Lista wymian: od { $share } zużycia trwałości
why-not-known = { $why }; brak danych, dlatego uznano za wymagane
why-family = Próba przewidziana dla typoszeregu
