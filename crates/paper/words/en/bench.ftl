## The bench's sheet.

work-steps = Work steps
work-steps-note = In the order in which the tariff lists them.
parts = Parts
parts-for-findings = For what was found
refresh-parts = Refresh list: parts to be replaced
test-programme = Test programme
bench-hours = Bench hours
what-is-measured = What is measured
measured = Measured
set-value = Set value
pass = Pass
fail = Fail
initials = Initials
technician = Technician
signature = Signature
remarks = Remarks
no-work = Nothing is done to this unit: it goes back as it came.
exchange-work = Another unit of the family is sent; this one stays.
