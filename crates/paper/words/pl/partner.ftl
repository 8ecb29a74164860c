## The partner's sheet.

end-price = Cena końcowa netto
your-buy-price = Państwa cena zakupu netto
your-share = Państwa udział netto
your-selling-price = Państwa cena sprzedaży netto
to-be-charged = Razem do zafakturowania Państwa klientowi
purchase = Zakup
sale = Sprzedaż
partner-confidential = Ta karta jest przeznaczona dla firmy { $partner }, nie dla klienta.
you-buy-from-head = Państwa dostawca
you-sell-to-head = Państwa odbiorca
vat-of-purchase = VAT od Państwa zakupu
vat-of-sale = VAT od Państwa sprzedaży
vat-due-by-your-customer = Podatek VAT w wysokości { $rate } jest należny w kraju Państwa klienta i to on go rozlicza.
flag-shares-scaled-partner = Państwa udział zmniejszono, aby zachować minimalną kwotę dla serwisu.
flag-goods-in-chain-partner = Towary przekraczają granicę w łańcuchu sprzedawców: opodatkowanie VAT Państwa zakupu i sprzedaży wymaga potwierdzenia.
flag-several-invoices-purchase = Państwa zakup wymaga dwóch faktur: pozycje niepodlegające VAT umieszcza się na osobnej.
flag-several-invoices-sale = Państwa sprzedaż wymaga dwóch faktur: pozycje niepodlegające VAT umieszcza się na osobnej.
flag-several-invoices-partner = Zarówno Państwa zakup, jak i sprzedaż wymagają dwóch faktur: pozycje niepodlegające VAT umieszcza się na osobnej.
