## The bench's sheet.

work-plan = Plan prac
parts = Części
operations = Czynności
refresh-list = Lista wymian
test-programme = Program prób
bench-hours = Godziny na stanowisku
measured = Wartość zmierzona
set-value = Wartość zadana
pass = Wynik OK
technician = Technik
signature = Podpis
remarks = Uwagi
no-work = Przy tym urządzeniu nic się nie wykonuje: wraca w stanie, w jakim przyszło.
exchange-work = Wysyła się inne urządzenie tego typoszeregu; to pozostaje w serwisie.
