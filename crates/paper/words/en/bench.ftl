## The bench's sheet.

work-plan = Work plan
parts = Parts
operations = Operations
refresh-list = Refresh list
test-programme = Test programme
bench-hours = Bench hours
measured = Measured
set-value = Set value
pass = Pass
technician = Technician
signature = Signature
remarks = Remarks
no-work = Nothing is done to this unit: it goes back as it came.
exchange-work = Another unit of the family is sent; this one stays.
