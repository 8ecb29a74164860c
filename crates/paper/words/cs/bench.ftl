## The bench's sheet.

work-plan = Plán prací
parts = Díly
operations = Úkony
refresh-list = Seznam obnovy
test-programme = Zkušební program
bench-hours = Hodiny na zkušebním stanovišti
measured = Naměřeno
set-value = Požadovaná hodnota
pass = Vyhovuje
technician = Technik
signature = Podpis
remarks = Poznámky
no-work = Na tomto zařízení se nic neprovádí: vrací se, jak přišlo.
exchange-work = Odesílá se jiné zařízení téže řady; toto zůstává v servisu.
