"""The sums by hand once more, in Python's decimal arithmetic.

by_decimal.py TURNS, with tariff and job on standard input as they are given to the sums by hand. Prints seconds a
call, the median of that many turns, and the figures. Decimals are made before anything is timed.
"""

import json
import statistics
import sys
import time
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

COURIER, SURCHARGE, MINIMUM, ENDING = 3, 7, 8, 9
PART, LABOUR, TEST = 0, 1, 2
LEG_IN, LEG_OUT = 3, 4
CENT, ZERO, ONE, SIXTY = Decimal("0.01"), Decimal(0), Decimal(1), Decimal(60)


def rounded(value):
    return value.quantize(CENT, ROUND_HALF_UP)


def scaled(places):
    return lambda value: Decimal(value).scaleb(-places)


minor, thousandth, price, percent = scaled(2), scaled(3), scaled(4), scaled(6)


def read(given):
    """Whole numbers of the parts they count become decimals of the units they mean."""
    tariff, job = given["tariff"], given["job"]

    def step(kind, of, much, *position):
        return (kind, of, thousandth(much), *position)

    def due(kind, *by):
        if kind == "contacts":
            b10d, each, share = by
            return (kind, Decimal(b10d) * percent(share), thousandth(each))
        return (kind, *by)

    tariff["grades"] = [price(rate) for rate in tariff["grades"]]
    for part in tariff["parts"]:
        part["unit_cost"] = price(part["unit_cost"])
        part["breaks"] = [(thousandth(start), price(cost)) for start, cost in part["breaks"]]
    for test in tariff["tests"]:
        test["bench_hours"], test["power_kw"] = thousandth(test["bench_hours"]), thousandth(test["power_kw"])
        test["bench_rate"] = price(test["bench_rate"])
    tariff["findings"] = [[step(*one) for one in steps] for steps in tariff["findings"]]
    for family in tariff["families"]:
        family["refresh"] = [(due(*when), step(*one)) for when, one in family["refresh"]]
        family["replacement_value"] = minor(family["replacement_value"])
    tariff["zones"] = [[(thousandth(up_to), price(cost)) for up_to, cost in zone] for zone in tariff["zones"]]
    for extra in tariff["extras"]:
        extra["percent"] = percent(extra["percent"])
    for agreement in (one for partner in tariff["partners"] for one in partner["agreements"]):
        agreement["discounts"] = [(category, percent(by)) for category, by in agreement["discounts"]]
        agreement["credits"] = [(work, minor(credit)) for work, credit in agreement["credits"]]
    tariff["vat_rates"] = [(*which, percent(rate)) for *which, rate in tariff["vat_rates"]]
    tariff["markups"] = [ONE + percent(markup) for markup in tariff["markups"]]
    for name in ("fuel", "insurance", "minimum_contribution_percent", "uneconomic_percent"):
        tariff[name] = percent(tariff[name])
    for name in ("insurance_minimum", "packaging", "energy"):
        tariff[name] = price(tariff[name])
    for name in ("minimum_charge", "ending_to", "minimum_contribution"):
        tariff[name] = minor(tariff[name])
    tariff["weight_step"] = thousandth(tariff["weight_step"])
    job["declared_value"] = price(job["declared_value"])
    job["parcels"] = [[thousandth(one) for one in parcel] for parcel in job["parcels"]]
    return tariff, job


def planned(tariff, job):
    """Parts and their quantities, minutes by grade, hours by test."""
    found = {}
    for finding, position, times in job["findings"]:
        found[finding, position] = max(times, found.get((finding, position), 0))
    family = tariff["families"][job["family"]]
    wanted, times, tests = {}, {}, {}

    def add(kind, of, much, position, found):
        if kind == "part":
            at = wanted.setdefault(of, {})
            at[position] = max(at.get(position, ZERO), much * found)
        elif kind == "operation":
            times[of] = times.get(of, ZERO) + much * found
        else:
            tests[of] = max(tests.get(of, ZERO), much)

    add("test", family["test"], tariff["tests"][family["test"]]["bench_hours"], None, 1)
    for (finding, position), count in found.items():
        for kind, of, much, *at in tariff["findings"][finding]:
            add(kind, of, much, at[0] if at and at[0] is not None else position, count)
    for when, (kind, of, much, *at) in family["refresh"]:
        if (
            when[0] == "always"
            or when[0] == "cycles"
            and job["cycles"] >= when[1]
            or when[0] == "contacts"
            and job["cycles"] * when[2] >= when[1]
        ):
            add(kind, of, much, at[0] if at else None, 1)

    labour, parts = {}, []
    for of in sorted(wanted):
        at = wanted[of]
        quantity = max(sum(much for position, much in at.items() if position is not None), at.get(None, ZERO))
        parts.append((of, quantity))
        part = tariff["parts"][of]
        labour[part["fit_grade"]] = labour.get(part["fit_grade"], ZERO) + part["fit_minutes"] * quantity
    for of in times:
        operation = tariff["operations"][of]
        minutes = operation["minutes"] * (ONE if operation["once"] else times[of])
        labour[operation["grade"]] = labour.get(operation["grade"], ZERO) + minutes
    return parts, labour, tests


def cost_lines(tariff, job):
    parts, labour, tests = planned(tariff, job)
    costs = []
    for of, quantity in parts:
        part = tariff["parts"][of]
        each, lots = part["unit_cost"], []
        for start, cost in part["breaks"]:
            if start <= quantity:
                each = cost
            else:
                lots.append(cost * start)
        costs.append((PART, rounded(min([each * quantity, *lots]))))
    for grade in sorted(labour):
        if labour[grade]:
            costs.append((LABOUR, rounded(tariff["grades"][grade] * labour[grade] / SIXTY)))
    for of in sorted(tests):
        test, hours = tariff["tests"][of], tests[of]
        attended = tariff["grades"][test["grade"]] * test["attended_minutes"] / SIXTY
        energy = tariff["energy"] * test["power_kw"] * hours
        costs.append((TEST, rounded(test["bench_rate"] * hours + attended + energy)))
    leg = rounded(courier(tariff, job))
    packaging = rounded(tariff["packaging"] * len(job["parcels"]))
    return costs + [(COURIER, leg), (COURIER, leg), (COURIER, packaging)]


def courier(tariff, job):
    step = tariff["weight_step"]
    volume = sum(length * width * height for length, width, height, _ in job["parcels"])
    weight = sum(weight for *_, weight in job["parcels"])
    by_volume = (volume / (tariff["volumetric_divisor"] * step)).to_integral_value(ROUND_CEILING)
    kilograms = max(by_volume, (weight / step).to_integral_value(ROUND_CEILING)) * step
    rate = next((cost for up_to, cost in tariff["zones"][job["zone"]] if up_to >= kilograms), ZERO)
    insurance = max(job["declared_value"] * tariff["insurance"], tariff["insurance_minimum"])
    return rate * (ONE + tariff["fuel"]) + insurance


def end_price(tariff, job, costs):
    lines = [(category, rounded(cost * tariff["markups"][category])) for category, cost in costs]
    before = list(lines)
    for of in job["extras"]:
        extra = tariff["extras"][of]
        base = sum(net for category, net in before if category in extra["categories"])
        lines.append((SURCHARGE, rounded(base * extra["percent"])))
    whole = sum(net for _, net in lines)
    if whole < tariff["minimum_charge"]:
        lines.append((MINIMUM, tariff["minimum_charge"] - whole))
        whole = tariff["minimum_charge"]
    to = tariff["ending_to"]
    ending = (whole / to).to_integral_value(ROUND_HALF_UP) * to
    if ending != whole:
        lines.append((ENDING, ending - whole))
    return lines


def split(total, weights, first):
    """By largest remainder; `first` says which of two equal remainders is served first."""
    whole = sum(weights)
    quotas = [(weight * total / whole).quantize(CENT, ROUND_FLOOR) for weight in weights]
    left = int((total - sum(quotas)) / CENT)
    rests = [weight * total - quota * whole for weight, quota in zip(weights, quotas)]
    for index in sorted(range(len(weights)), key=lambda index: (-rests[index], first * index))[:left]:
        quotas[index] += CENT
    return quotas


def rate_of(tariff, country, day):
    rates = tariff["vat_rates"]
    return next((rate for of, start, end, rate in rates if of == country and start <= day <= end), None)


def figures(tariff, job):
    costs = cost_lines(tariff, job)
    lines = end_price(tariff, job, costs)
    nets = [net for _, net in lines]
    end_net = sum(nets)
    leg_in, leg_out = len(costs) - 3, len(costs) - 2

    partners = [tariff["partners"][of] for of in job["route"]]
    agreements = [
        next(one for one in partner["agreements"] if one["from"] <= job["received"] <= one["until"])
        for partner in partners
    ]
    works = {}
    for stop, agreement in reversed(list(enumerate(agreements))):
        for work, credit in agreement["credits"]:
            works.setdefault(work, (stop, credit))
    spent = sum(cost for _, cost in costs)
    cost = spent
    if LEG_IN in works:
        cost -= costs[leg_in][1]
    if LEG_OUT in works:
        cost -= costs[leg_out][1]

    by_category = {}
    for category, net in lines:
        by_category[category] = by_category.get(category, ZERO) + net
    most = {LEG_IN: nets[leg_in], LEG_OUT: nets[leg_out]}
    shares = []
    for stop, agreement in enumerate(agreements):
        discount = sum(by_category.get(category, ZERO) * by for category, by in agreement["discounts"])
        credits = (min(one, most.get(work, one)) for work, (taker, one) in works.items() if taker == stop)
        shares.append(max(rounded(discount) + sum(credits), ZERO))
    minimum = max(rounded(end_net * tariff["minimum_contribution_percent"]), tariff["minimum_contribution"])
    available = max(end_net - cost - minimum, ZERO)
    scaled_down = sum(shares) > available
    if scaled_down:
        shares = split(available, shares, -1)

    sales, seller = [], tariff["country"]
    workshop_net = net = end_net - sum(shares)
    for stop in range(len(shares) + 1):
        buyer = partners[stop]["country"] if stop < len(partners) else job["country"]
        charged = rate_of(tariff, seller, job["tax_date"]) if seller == buyer else None
        tax = rounded(net * charged) if charged is not None else ZERO
        of_lines = nets if net == end_net else split(net, nets, 1)
        sales.append((net, of_lines, "S" if seller == buyer else "AE", tax, net + tax))
        net += shares[stop] if stop < len(shares) else ZERO
        seller = buyer
    rate = rate_of(tariff, job["country"], job["tax_date"])
    worth = tariff["families"][job["family"]]["replacement_value"] * tariff["uneconomic_percent"]
    return {
        "end_net": end_net,
        "lines": nets,
        "vat_due": None if rate is None else rounded(end_net * rate),
        "cost": cost,
        "shares": shares,
        "workshop_net": workshop_net,
        "sales": [dict(zip(("net", "lines", "category", "tax", "gross"), sale)) for sale in sales],
        "uneconomic": end_net > worth,
        "under_floor": end_net - spent < minimum,
        "scaled": scaled_down,
    }


tariff, job = read(json.load(sys.stdin))
turns, calls = [], 200
for _ in range(int(sys.argv[1])):
    begun = time.perf_counter()
    for _ in range(calls):
        found = figures(tariff, job)
    turns.append((time.perf_counter() - begun) / calls)
found_minor = json.dumps(found, default=lambda amount: int(amount.scaleb(2)))
print(json.dumps({"seconds": statistics.median(turns), "figures": json.loads(found_minor)}))
