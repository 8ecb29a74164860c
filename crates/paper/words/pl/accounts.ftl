## Account statements and the overview of margins.

account-statement = Wyciąg z konta
account-statement-of = Wyciąg z konta za { $month }
account = Konto
period = Okres
provisional = Wersja wstępna: ten miesiąc nie został jeszcze zamknięty.
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

# What is open at the end of the month.
open-items = Pozycje nierozliczone
due-date = Termin płatności
open-amount = Nierozliczone
open-advance = Zaliczka
open-later = Zapis w późniejszym miesiącu rozlicza lub koryguje tę pozycję.

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
differences-asked = Żadna z pozycji tej listy nie jest doliczana do powyższego salda. Prosimy o sprawdzenie każdej pozycji oraz o jej poprawienie lub odpowiedź.
differences-note = Stwierdzone przy porównaniu ofert, faktur i płatności. Kwoty to wartość stwierdzona pomniejszona o uzgodnioną, o ile nie zaznaczono inaczej.
what-differs = Co się różni
difference = Różnica
was-agreed = Uzgodniono
was-found = Stwierdzono
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
reason-invoice-other-party = Faktura jest wystawiona na inny podmiot niż nabywca z oferty.
reason-credit-other-party = Faktura korygująca powołuje się na fakturę lub ofertę innego podmiotu i niczego z niej nie odejmuje.
reason-unpaid = Termin płatności faktury minął, a nie zapłacono jej w całości.
reason-overpaid = Zapłacono więcej, niż wynosi faktura.
reason-overpaid-in-advance = Zapłacono z góry za ofertę, która została wycofana; kwota jest do zwrotu.
reason-payment-unknown = Wpłynęła płatność, która nie dotyczy niczego znanego.
reason-paid-unknown = Wyszła płatność, która nie dotyczy niczego znanego.
reason-in-transit = Pieniądze przeszły między rachunkami serwisu, a drugiej strony przelewu nie ma.
reason-courier = Kurier naliczył inną kwotę niż w ofercie.
reason-courier-unknown = Kurier naliczył przewóz, który nie należy do żadnej oferty.
reason-credit-for-our-work = Przyznano uznanie za pracę, którą serwis wykonał lub opłacił sam. Kwota to to uznanie.
reason-rounding = Kwoty różnią się nie bardziej, niż dopuszcza zaokrąglenie.
reason-currency = Waluta nie jest walutą uzgodnioną albo kurs zbyt odbiega od kursu referencyjnego.

# Work on site and carriage.
work-removal = Demontaż
work-refitting = Montaż
work-diagnosis = Diagnostyka

# Volume bonuses.
bonus-of-year = Bonus obrotowy { $year }
bonus-turnover = Dotychczasowy obrót w roku, netto
bonus-step = Osiągnięty próg
bonus-due = Dotychczasowy bonus
bonus-this-month = W tym w tym miesiącu
bonus-trued-up = Z tego wyrównanie za wcześniejsze miesiące
bonus-missing = Brakuje do następnego progu: { $percent } od { $amount }

# The overview.
margin-overview = Przegląd marż
until-day = (uzgodnione, do zafakturowania do { $date })
all-quotes = Wszystkie oferty
quotes = Oferty
end-prices = Ceny końcowe
partners-shares = Udziały partnerów
by-partner = Według partnera
by-family = Według typoszeregu
by-route = Według kanału sprzedaży
over-time = W czasie
invoiced = Zafakturowano
to-be-invoiced = Do zafakturowania
all-months = Wszystkie miesiące
invoiced-note = Do zafakturowania jest to, co serwis zatrzymuje z uzgodnionych ofert, w miesiącu, do końca którego należy je zafakturować; zafakturowano to, co zaksięgowano jako przychód netto.
direct-route = Bezpośrednio
family = Typoszereg
month = Miesiąc
bars-of-shares = Słupki pokazują, ile zatrzymuje każdy partner. Oferta z dwoma partnerami liczy się dla obu.
bars-of-contribution = Słupki pokazują marżę pokrycia: ile zostaje serwisowi ponad jego koszt.
largest-only = Liczba pokazanych największych pozycji: { $count }.
last-months = Liczba ostatnich miesięcy na wykresie: { $count }.
nothing-agreed = Do { $date } żadna przyjęta oferta nie podlegała zafakturowaniu.

# What changed under closed months.
changed-since = Zmienione po zamknięciu
changed-note = Co zawierają zamknięte miesiące i co wiadomo teraz. Na kontach strona Wn jest powyżej zera, strona Ma poniżej.
changed-gone = Usunięte: dokumentu już nie ma
changed-different = Zmienione: dokument nie zawiera tego, co zawierał
changed-late = Spóźnione: dokumentu zamkniętego miesiąca jeszcze nie było
changed-follows = Następstwo: nie zmienił się własny dokument, lecz to, czego dotyczy lub na czym się opiera
changed-of = z zamkniętego miesiąca: { $closed }; liczy się na dzień { $date }
changed-account = { $account }: miesiąc { $month } zamknięto z kontem { $was }; teraz jest to { $is }. Zamknięte miesiące zachowują swoje.
how-it-changed = Rodzaj zmiany
closed-month = Zamknięty miesiąc
counts-for = Liczy się na
party = Kontrahent
amount-of = Kwota
was = Było
is-now = Jest
changed-by = Zmiana
account-receivable = Należności od partnerów i klientów
account-revenue = Przychody z napraw
account-vat-payable = VAT należny
account-bank = Bank
account-bank-charges = Opłaty bankowe
account-exchange = Różnice kursowe
account-unapplied = Wpłaty jeszcze nieprzypisane
account-clearing = Rozrachunki z resztą ksiąg
account-courier-cost = Koszty kuriera
account-courier-payable = Zobowiązania wobec kurierów
account-bonus = Bonusy obrotowe
account-bonus-payable = Bonusy należne partnerom
account-rounding = Różnice z zaokrągleń
account-transit = Przelewy między własnymi kontami
