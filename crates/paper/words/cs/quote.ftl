## The end customer's quote.

found = Nález
done = Díly k výměně a práce k provedení
why = Důvod
in-all = Celkem { $quantity }
price = Cena
alternatives = Varianty
alternative = Varianta: { $name }
main-offer = Základní nabídka
alternatives-note = Přijmout lze jednu z těchto variant; ostatní tím zanikají.
choose = Zvolenou variantu prosím označte.
alternatives-differ = Níže je uvedeno, čím se každá z nich liší od základní nabídky. Vše ostatní zůstává stejné.
other-way = Varianta
found-further = Navíc zjištěno nebo požadováno
lines-as-quoted = Všechny ostatní položky jako v základní nabídce
lines-left-out = Položky základní nabídky, které odpadají
net-total = Celkem bez DPH
gross-total = Celkem
vat-due-by-buyer = DPH ve výši { $rate } je splatná ve vaší zemi a přiznáváte ji vy.
vat-note = Uvedený režim DPH vychází z toho, co víme o prodávajícím, kupujícím a plnění; musí jej potvrdit daňový poradce s oprávněním.
warranty = Záruka
warranty-months = Záruka od { $from } do { $until }.
warranty-cycles = Končí dříve po { $cycles ->
    [one] { $cycles } pracovním cyklu počítaném
    [few] { $cycles } pracovních cyklech počítaných
    [many] { $cycles } pracovního cyklu počítaného
   *[other] { $cycles } pracovních cyklech počítaných
} od { $from }.
warranty-excludes = Záruka se nevztahuje na: { $excluded }.
warranty-none = Na zařízení vrácené bez opravy se záruka neposkytuje.
warranty-as-quoted = Jak je uvedeno výše u základní nabídky.
warranty-open = Vráceno v záruce z nabídky { $quote }, která platí do { $until }.
warranty-cycles-left = { $cycles ->
    [one] Zbývá { $cycles } pracovní cyklus.
    [few] Zbývají { $cycles } pracovní cykly.
    [many] Zbývá { $cycles } pracovního cyklu.
   *[other] Zbývá { $cycles } pracovních cyklů.
}
validity = Platnost
validity-text = Tuto nabídku lze přijmout do { $date }.
delivery = Dodání
acceptance = Přijetí nabídky
acceptance-text = Nabídku přijímáme a práce objednáváme.
place-and-date = Místo a datum
name-and-signature = Jméno a podpis
work = Nález a práce
alternative-head = Varianta
warranty-until = Záruka do { $until }
flag-vat-not-known-customer = Sazba DPH ve vaší zemi nám není známa.
flag-goods-in-chain-customer = Zboží překračuje hranici v řetězci prodejců: DPH svého nákupu si nechte potvrdit.
