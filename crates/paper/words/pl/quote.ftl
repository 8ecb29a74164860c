## The end customer's quote.

found = Stwierdzone usterki
done = Części do wymiany i prace do wykonania
why = Powód
in-all = Razem { $quantity }
price = Cena
alternatives = Warianty
alternative = Wariant: { $name }
main-offer = Oferta podstawowa
alternatives-note = Można przyjąć jeden z tych wariantów; pozostałe wówczas wygasają.
choose = Prosimy zaznaczyć wybrany wariant.
alternatives-differ = Poniżej podano, czym każdy z nich różni się od oferty podstawowej. Wszystko inne pozostaje bez zmian.
other-way = Wariant
found-further = Dodatkowo stwierdzono lub zlecono
lines-as-quoted = Wszystkie pozostałe pozycje jak w ofercie podstawowej
lines-left-out = Pozycje oferty podstawowej, które odpadają
net-total = Razem netto
gross-total = Razem
vat-due-by-buyer = Podatek VAT w wysokości { $rate } jest należny w Państwa kraju i rozliczają go Państwo.
vat-note = Podany sposób opodatkowania VAT wynika z tego, co wiemy o sprzedawcy, nabywcy i świadczeniu; wymaga potwierdzenia przez licencjonowanego doradcę podatkowego.
warranty = Gwarancja
warranty-months = Gwarancja od { $from } do { $until }.
warranty-cycles = Wygasa wcześniej po { $cycles ->
    [one] { $cycles } cyklu pracy
    [few] { $cycles } cyklach pracy
    [many] { $cycles } cyklach pracy
   *[other] { $cycles } cyklu pracy
} liczonych od { $from }.
warranty-excludes = Gwarancja nie obejmuje: { $excluded }.
warranty-none = Na urządzenie zwrócone bez naprawy nie udziela się gwarancji.
warranty-as-quoted = Jak podano wyżej dla oferty podstawowej.
warranty-open = Zwrot w okresie gwarancji z oferty { $quote }, ważnej do { $until }.
warranty-cycles-left = { $cycles ->
    [one] Pozostał { $cycles } cykl pracy.
    [few] Pozostały { $cycles } cykle pracy.
    [many] Pozostało { $cycles } cykli pracy.
   *[other] Pozostało { $cycles } cyklu pracy.
}
validity = Ważność
validity-text = Ofertę można przyjąć do { $date }.
delivery = Dostawa
acceptance = Przyjęcie oferty
acceptance-text = Przyjmujemy ofertę i zlecamy wykonanie prac.
place-and-date = Miejscowość i data
name-and-signature = Imię, nazwisko i podpis
work = Stwierdzone usterki i wykonywane prace
alternative-head = Wariant
warranty-until = Gwarancja do { $until }
flag-vat-not-known-customer = Stawka VAT w Państwa kraju nie jest nam znana.
flag-goods-in-chain-customer = Towary przekraczają granicę w łańcuchu sprzedawców: opodatkowanie VAT Państwa zakupu wymaga potwierdzenia.
