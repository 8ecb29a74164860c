## The bench's sheet.

work-steps = Czynności
work-steps-note = W kolejności podanej w cenniku.
parts = Części
parts-for-findings = Do stwierdzonych usterek
refresh-parts = Lista wymian: części do wymiany
test-programme = Program prób
bench-hours = Godziny na stanowisku
what-is-measured = Wielkość mierzona
measured = Wartość zmierzona
set-value = Wartość zadana
pass = Zgodny
fail = Niezgodny
initials = Inicjały
technician = Technik
signature = Podpis
remarks = Uwagi
no-work = Przy tym urządzeniu nic się nie wykonuje: wraca w stanie, w jakim przyszło.
exchange-work = Wysyła się inne urządzenie tego typoszeregu; to pozostaje w serwisie.
