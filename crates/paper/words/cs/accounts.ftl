## Account statements and the overview of margins.

account-statement = Výpis z účtu
account-statement-of = Výpis z účtu za { $month }
account = Účet
period = Období
provisional = Předběžné: tento měsíc ještě není uzavřen.
opening-balance = Počáteční zůstatek
closing-balance = Konečný zůstatek
movement = Pohyb
document = Doklad
charged = Účtováno
credited = Zaplaceno či připsáno
balance = Zůstatek
nothing-moved = Na tomto účtu nebyl v tomto měsíci žádný pohyb.
balance-ours = Zůstatek v náš prospěch: { $amount }
balance-yours = Zůstatek ve váš prospěch: { $amount }
balance-none = Účet je vyrovnán.

# What is open at the end of the month.
open-items = Otevřené položky
due-date = Splatnost
open-amount = Otevřeno
open-advance = Záloha
open-later = Zápis v pozdějším měsíci tuto položku vyrovnává nebo opravuje.

# What moved an account.
movement-invoice-corrected = Oprava faktury
movement-payment-returned = Vrácená platba
movement-payment-corrected = Oprava platby
movement-bank-charges = Bankovní poplatky
movement-courier-bill = Faktura dopravce
movement-bonus = Obratový bonus
movement-bonus-less = Obratový bonus, vyrovnání
movement-bonus-paid = Obratový bonus, výplata
movement-rounding = Odepsané zaokrouhlení
entered-late = Ze dne { $date }; zapsáno zde, protože onen měsíc byl uzavřen.

# Differences.
differences = Rozdíly
differences-asked = Nic z tohoto seznamu se k výše uvedenému zůstatku nepřičítá. Zkontrolujte prosím každou položku a opravte ji, nebo nám odpovězte.
differences-note = Zjištěno při porovnání nabídek, faktur a plateb. Částky jsou zjištěná hodnota snížená o dohodnutou, není-li uvedeno jinak.
what-differs = Co se liší
difference = Rozdíl
was-agreed = Dohodnuto
was-found = Zjištěno
work-done = Vykonaná práce
reason-charged-more = Koncovému zákazníkovi bylo účtováno více než pevná cena.
reason-charged-less = Koncovému zákazníkovi bylo účtováno méně než pevná cena.
reason-share-beyond = Partnerovi bylo účtováno méně, než bylo dohodnuto, jeho podíl je tedy větší, než bylo dohodnuto. Částka se týká podílu.
reason-share-below = Partnerovi bylo účtováno více, než bylo dohodnuto, jeho podíl je tedy menší, než bylo dohodnuto. Částka se týká podílu.
reason-agreement-date = Podíl se řídí dohodou, která v ten den neplatila. Částka se týká podílu.
reason-vat-category = DPH je jiného druhu, než bylo dohodnuto. Částka se týká DPH.
reason-vat-rate = DPH je účtována jinou sazbou, než bylo dohodnuto. Částka se týká DPH.
reason-vat-amount = DPH neodpovídá své sazbě. Částka se týká DPH.
reason-invoice-missing = K tomuto prodeji chybí faktura, ačkoli její den již uplynul.
reason-invoice-double = K tomuto prodeji existuje druhá faktura.
reason-invoice-reversed = Existuje faktura k prodeji, který byl vzat zpět.
reason-invoice-unknown = Faktura nepatří k žádné nabídce.
reason-invoice-other-party = Faktura je vystavena na někoho jiného, než je kupující podle nabídky.
reason-credit-other-party = Opravný daňový doklad uvádí fakturu nebo nabídku někoho jiného a nic z ní neodečítá.
reason-unpaid = Faktura je splatná a není zcela zaplacena.
reason-overpaid = Bylo zaplaceno více, než faktura požaduje.
reason-overpaid-in-advance = Bylo zaplaceno předem za nabídku, která byla vzata zpět; částka se má vrátit.
reason-payment-unknown = Přišly peníze, které nepatří k ničemu známému.
reason-paid-unknown = Odešly peníze, které nepatří k ničemu známému.
reason-in-transit = Peníze šly z jednoho účtu servisu na jiný a druhá strana převodu chybí.
reason-courier = Dopravce účtoval jinou částku, než jaká byla v nabídce.
reason-courier-unknown = Dopravce účtoval přepravu, která nepatří k žádné nabídce.
reason-credit-for-our-work = Byla připsána částka za práci, kterou servis vykonal nebo zaplatil sám. Uvedena je tato částka.
reason-rounding = Částky se liší nejvýše o přípustné zaokrouhlení.
reason-currency = Měna není dohodnutá, nebo se kurz příliš odchyluje od referenčního.

# Work on site and carriage.
work-removal = Demontáž
work-refitting = Montáž
work-diagnosis = Diagnostika

# Volume bonuses.
bonus-of-year = Obratový bonus { $year }
bonus-turnover = Dosavadní obrat v roce, bez DPH
bonus-step = Dosažený stupeň
bonus-due = Dosavadní bonus
bonus-this-month = Z toho v tomto měsíci
bonus-trued-up = Z toho vyrovnání za dřívější měsíce
bonus-missing = Do dalšího stupně chybí: { $percent } od { $amount }

# The overview.
margin-overview = Přehled marží
until-day = (dohodnuto, k fakturaci do { $date })
all-quotes = Všechny nabídky
quotes = Nabídky
end-prices = Konečné ceny
partners-shares = Podíly partnerů
by-partner = Podle partnera
by-family = Podle řady
by-route = Podle prodejního kanálu
over-time = V čase
invoiced = Vyfakturováno
to-be-invoiced = K fakturaci
all-months = Všechny měsíce
invoiced-note = K fakturaci je to, co servisu zůstane z dohodnutých nabídek, v měsíci, do jehož konce se mají fakturovat; vyfakturováno je to, co je zaúčtováno jako výnos bez DPH.
direct-route = Přímo
family = Řada
month = Měsíc
bars-of-shares = Pruhy ukazují, kolik si ponechá každý partner. Nabídka dvou partnerů se počítá oběma.
bars-of-contribution = Pruhy ukazují příspěvek na úhradu: kolik servisu zůstane nad jeho náklady.
largest-only = Počet zobrazených největších položek: { $count }.
last-months = Počet posledních měsíců v grafu: { $count }.
nothing-agreed = Do { $date } nebyla k fakturaci žádná přijatá nabídka.

# What changed under closed months.
changed-since = Změněno po uzavření
changed-note = Co obsahují uzavřené měsíce a co je známo nyní. Na účtech je strana Má dáti nad nulou, strana Dal pod ní.
changed-gone = Zmizelo: doklad už neexistuje
changed-different = Změněno: doklad už neříká, co říkal
changed-late = Opožděno: doklad uzavřeného měsíce tu ještě nebyl
changed-follows = Následek: nezměnil se vlastní doklad, ale to, čeho se týká nebo na čem spočívá
changed-of = z uzavřeného měsíce { $closed }; počítá se ke dni { $date }
changed-account = { $account }: měsíc { $month } byl uzavřen s účtem { $was }; nyní je to { $is }. Uzavřené měsíce si ponechají svůj.
how-it-changed = Druh změny
closed-month = Uzavřený měsíc
counts-for = Počítá se ke dni
party = Obchodní partner
amount-of = Částka
was = Bylo
is-now = Je
changed-by = Změna
account-receivable = Pohledávky za partnery a zákazníky
account-revenue = Výnosy z oprav
account-vat-payable = Účtovaná DPH
account-bank = Banka
account-bank-charges = Bankovní poplatky
account-exchange = Kurzové rozdíly
account-unapplied = Dosud nepřiřazené platby
account-clearing = Zúčtování s ostatním účetnictvím
account-courier-cost = Náklady na dopravce
account-courier-payable = Závazky vůči dopravcům
account-bonus = Obratové bonusy
account-bonus-payable = Bonusy dlužné partnerům
account-rounding = Rozdíly ze zaokrouhlení
account-transit = Převody mezi vlastními účty
