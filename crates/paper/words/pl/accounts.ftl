## Account statements and the overview of margins.

account-statement = Wyciąg z konta
account = Konto
period = Okres
statement-provisional = Wersja wstępna: ten miesiąc nie został jeszcze zamknięty.
opening-balance = Saldo początkowe
closing-balance = Saldo końcowe
movement = Operacja
document = Dokument
charged = Obciążenia
credited = Wpłaty i uznania
balance = Saldo
nothing-moved = W tym miesiącu na tym koncie nie było żadnych operacji.
balance-ours = Saldo na naszą korzyść: { $amount }
balance-yours = Saldo na Państwa korzyść: { $amount }
balance-none = Konto jest rozliczone.

# What moved an account.
movement-invoice-corrected = Korekta faktury
movement-payment-returned = Zwrot płatności
movement-payment-corrected = Korekta płatności
movement-bank-charges = Opłaty bankowe
movement-courier-bill = Rachunek kuriera
movement-bonus = Bonus obrotowy
movement-bonus-less = Bonus obrotowy, wyrównanie
movement-bonus-paid = Bonus obrotowy, wypłata
movement-rounding = Odpisane zaokrąglenie
entered-late = Z dnia { $date }; ujęto tutaj, ponieważ tamten miesiąc był zamknięty.

# Differences.
differences = Różnice
differences-note = Stwierdzone przy porównaniu ofert, faktur i płatności. Kwoty to wartość stwierdzona pomniejszona o uzgodnioną, o ile nie zaznaczono inaczej.
what-differs = Co się różni
difference = Różnica
work-done = Wykonana praca
reason-charged-more = Klienta końcowego obciążono kwotą wyższą niż cena stała.
reason-charged-less = Klienta końcowego obciążono kwotą niższą niż cena stała.
reason-share-beyond = Partnera obciążono kwotą niższą niż uzgodniona, więc jego udział jest większy niż uzgodniony. Kwota dotyczy udziału.
reason-share-below = Partnera obciążono kwotą wyższą niż uzgodniona, więc jego udział jest mniejszy niż uzgodniony. Kwota dotyczy udziału.
reason-agreement-date = Udział wynika z umowy, która w tym dniu nie obowiązywała. Kwota dotyczy udziału.
reason-vat-category = VAT jest innej kategorii niż uzgodniona. Kwota dotyczy VAT.
reason-vat-rate = VAT naliczono według innej stawki niż uzgodniona. Kwota dotyczy VAT.
reason-vat-amount = VAT nie odpowiada swojej stawce. Kwota dotyczy VAT.
reason-invoice-missing = Do tej sprzedaży brakuje faktury, choć jej termin już minął.
reason-invoice-double = Do tej sprzedaży istnieje druga faktura.
reason-invoice-reversed = Istnieje faktura do sprzedaży, która została wycofana.
reason-invoice-unknown = Faktura nie należy do żadnej oferty.
reason-unpaid = Termin płatności faktury minął, a nie zapłacono jej w całości.
reason-overpaid = Zapłacono więcej, niż wynosi faktura.
reason-payment-unknown = Wpłynęła płatność, która nie dotyczy niczego znanego.
reason-courier = Kurier naliczył inną kwotę niż w ofercie.
reason-courier-unknown = Kurier naliczył przewóz, który nie należy do żadnej oferty.
reason-credit-for-our-work = Przyznano uznanie za pracę, którą serwis wykonał lub opłacił sam. Kwota to to uznanie.
reason-rounding = Kwoty różnią się nie bardziej, niż dopuszcza zaokrąglenie.
reason-currency = Waluta nie jest walutą uzgodnioną albo kurs zbyt odbiega od kursu referencyjnego.

# Work on site and carriage.
work-removal = Demontaż
work-refitting = Montaż
work-diagnosis = Diagnostyka

# The overview.
margin-overview = Przegląd marż
until-day = (uzgodnione, do zafakturowania do { $date })
all-quotes = Wszystkie oferty
quotes = Oferty
end-prices = Ceny końcowe
partners-shares = Udziały partnerów
by-partner = Według partnera
by-family = Według typoszeregu
by-route = Według drogi sprzedaży
over-time = W czasie
direct-route = Bezpośrednio
family = Typoszereg
month = Miesiąc
bars-of-shares = Słupki pokazują, ile zatrzymuje każdy partner. Oferta z dwoma partnerami liczy się dla obu.
bars-of-contribution = Słupki pokazują marżę pokrycia: ile zostaje serwisowi ponad jego koszt.
largest-only = Liczba pokazanych największych pozycji: { $count }.
last-months = Liczba ostatnich miesięcy na wykresie: { $count }.
nothing-agreed = Do { $date } żadna przyjęta oferta nie podlegała zafakturowaniu.
