## The partner's sheet.

end-price = Cena końcowa
your-buy-price = Państwa cena zakupu
your-share = Państwa udział
your-selling-price = Państwa cena sprzedaży
to-be-charged = Do zafakturowania Państwa klientowi
purchase = Zakup
sale = Sprzedaż
partner-confidential = Ta karta jest przeznaczona dla: { $partner }, nie dla klienta.
you-buy-from-head = Kupują Państwo od
you-sell-to-head = Sprzedają Państwo do
vat-of-purchase = VAT od Państwa zakupu
vat-of-sale = VAT od Państwa sprzedaży
vat-due-by-your-customer = Podatek VAT w wysokości { $rate } jest należny w kraju Państwa klienta i to on go rozlicza.
flag-shares-scaled-partner = Państwa udział zmniejszono, aby zachować minimalną kwotę dla serwisu.
flag-goods-in-chain-partner = Towary przekraczają granicę w łańcuchu sprzedawców: opodatkowanie VAT Państwa zakupu i sprzedaży wymaga potwierdzenia.
