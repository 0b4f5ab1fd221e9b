"""How fast a year of heat is, and how much faster than a march of the same equations.

    python tests/bench/heat.py

Prints the median of many evaluations of one alternative's coupled year, bare and under a panel,
the same with everything summed up, its memory, a two-alternative comparison with new heat and
with new money only, and the ratio to the finite-volume march in the same run, so that the
figure travels between machines. It holds its memory as the service and the workers of a portfolio
do.
"""

import statistics
import time
import tracemalloc
from dataclasses import replace

from api.service import load_case
from lcc import tables
from lcc.allocator import keep_freed_memory
from lcc.case import Prices
from lcc.checks.march import march, reference_cases
from lcc.comparison import compare
from lcc.heat.energy import energy_year
from lcc.heat.roof_model import solve

ROOFS = ("dark built-up over board", "built-up on concrete", "retrofit over board")


def median_ms(work, times=40):
    """Median milliseconds of processor time of `work(count)` after three calls to warm up."""
    spent = []
    for count in range(times + 3):
        begun = time.process_time()
        work(count)
        spent.append((time.process_time() - begun) * 1000)
    return statistics.median(spent[3:])


def another(assembly, count):
    """The assembly with layers a hair thicker, so that nothing of it is remembered."""
    more = 1 + 1e-6 * time.perf_counter() % 1e-3 + 1e-9 * count
    layers = tuple(
        replace(one, thickness_m=one.thickness_m * more) if one.thickness_m else one
        for one in assembly.layers
    )
    return replace(assembly, layers=layers)


def years():
    """Median of a solved year, known layers or new, and of all its figures, for three roofs."""
    cases = reference_cases()
    for roof in ROOFS:
        case = cases["houston-tx", roof]
        where = (case.climate, case.building, case.area_m2)
        found = solve(*where, case.assembly).heat
        solved = median_ms(lambda _, w=where, c=case: solve(*w, c.assembly))
        fresh = median_ms(lambda n, w=where, c=case: solve(*w, another(c.assembly, n)))
        whole = median_ms(
            lambda n, w=where, c=case: energy_year(*w, another(c.assembly, n), Prices())
        )
        print(f"{roof:28s} solved {solved:6.1f} ms in {found.iterations} iterations, ", end="")
        print(f"{fresh:.1f} ms with new layers, {whole:.1f} ms with every figure")
        yield solved


def memory_mb():
    """Largest extra memory of one evaluation."""
    case = reference_cases()["houston-tx", ROOFS[2]]
    tracemalloc.start()
    solve(case.climate, case.building, case.area_m2, case.assembly)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def comparisons():
    """Median of the demo case with its first alternative: new heat, new money, and draws."""
    case = load_case(tables.read_json("demo/case.json")).case
    case = replace(case, alternatives=case.alternatives[:1])
    plain = replace(case, uncertainty=replace(case.uncertainty, draws=0))

    def new_heat(_):
        setting = replace(plain.building, wall_u_w_m2k=0.5 + time.perf_counter() % 1000 / 1e4)
        compare(replace(plain, building=setting))

    def new_money(count, case=plain):
        prices = replace(case.prices, electricity_per_kwh=0.1 + count / 1e4)
        compare(replace(case, prices=prices))

    print(f"comparison, new heat  {median_ms(new_heat):6.1f} ms")
    print(f"comparison, new money {median_ms(new_money):6.1f} ms, ", end="")
    drawn = median_ms(lambda count: new_money(count, case), 10)
    print(f"with {case.uncertainty.draws:,} draws {drawn:.1f} ms")


def main():
    """Print the figures."""
    keep_freed_memory()
    solved = list(years())
    case = reference_cases()["houston-tx", ROOFS[2]]
    begun = time.process_time()
    march([case])
    spent = (time.process_time() - begun) * 1000
    print(
        f"finite-volume march of {ROOFS[2]}: {spent:.0f} ms, {spent / solved[2]:.0f} times as long"
    )
    print(f"memory of one evaluation {memory_mb():.1f} MB")
    comparisons()


if __name__ == "__main__":
    main()
