"""The draws of `fit examples/undecided.toml --draws N` in plain Python and numpy, to compare speed and counts with.

    python3 tests/bench/draws.py examples/undecided.toml 200

prints one count a draw, then the seconds that the draws took on the standard error. Needs Python 3.11 and numpy.
`cargo bench --bench draws` runs it, compares the counts draw by draw and prints how many times faster the program is.

It reads only what that example uses: scaling machines of one image, a fixed scanner, one pool, a link. It draws the same
numbers (PCG XSL RR 128/64, one stream an input) and searches each draw from the start, by doubling and halving.
"""

import math
import sys
import time
import tomllib
from statistics import NormalDist

import numpy as np

MIB, GIB, PAGE, DAY, YEAR = 2.0**20, 2.0**30, 4096.0, 86400.0, 365.25 * 86400.0
UNITS = {"MiB": MIB, "GiB": GIB, "GB": 1e9, "TB": 1e12, "%": 0.01, "GB/day": 1e9 / DAY, "Gbit/s": 1e9, "Mbit/s": 1e6, "W": 1.0}
NORMAL = NormalDist()


def number(value):
    """A value of the file in base units."""
    if not isinstance(value, str):
        return float(value)
    amount, unit = value.split(" ")
    return float(amount) * UNITS[unit]


# --- the random numbers


def fnv1a(text):
    value = 0x6C62272E07BB014262B821756295C58D
    for byte in text.encode():
        value = (value ^ byte) * 0x1000000000000000000013B % 2**128
    return value


def stream(seed, path):
    """numpy's PCG64 is the same generator; its state is set by hand to the start of the input's stream."""
    increment = (0x0A02BDBF7BB3C0A7AC28FA16A64ABF96 << 1 | 1) % 2**128
    state = ((seed + increment) * 0x2360ED051FC65DA44385DF649FCCF645 + increment) % 2**128
    bits = np.random.PCG64(0)
    bits.state = {"bit_generator": "PCG64", "state": {"state": state, "inc": increment}, "has_uint32": 0, "uinteger": 0}
    return bits.advance(fnv1a(path))


def beta_below(a, b, x):
    """Regularised incomplete beta function by its continued fraction (Abramowitz & Stegun 26.5.8)."""
    if x <= 0.0 or x >= 1.0:
        return min(max(x, 0.0), 1.0)
    if x > (a + 1) / (a + b + 2):
        return 1.0 - beta_below(b, a, 1.0 - x)
    front = math.exp(a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)) / a
    fraction = 1.0
    for m in range(60, 0, -1):
        odd = -(a + m - 1 + 0.0) * (a + b + m - 1) * x / ((a + 2 * m - 2) * (a + 2 * m - 1))
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        fraction = 1.0 + odd / (1.0 + even / fraction)
    return front / fraction


def pert(low, likely, high, u):
    a = 1 + 4 * (likely - low) / (high - low)
    below, above = 0.0, 1.0
    for _ in range(50):
        middle = (below + above) / 2
        if beta_below(a, 6 - a, middle) > u:
            above = middle
        else:
            below = middle
    return low + (high - low) * (below + above) / 2


# --- the laws


def webster(shares, n):
    """Seats for N guests; ties to the larger share, then to the first name."""
    seats = [0] * len(shares)
    for _ in range(n):
        best = max(range(len(shares)), key=lambda i: (shares[i][1] / (2 * seats[i] + 1), shares[i][1], [-b for b in shares[i][0].encode()]))
        seats[best] += 1
    return seats


Z = np.arange(-9.0, 9.0, 0.05)
WEIGHTS = 0.05 * np.exp(-Z * Z / 2) / math.sqrt(2 * math.pi)
BELOW = np.vectorize(NORMAL.cdf)


def binomial(n, chance):
    """Probability of each count, a row for each value of the common factor."""
    k = np.arange(n + 1)
    ways = np.array([math.lgamma(n + 1) - math.lgamma(i + 1) - math.lgamma(n - i + 1) for i in k])
    chance = np.clip(chance, 1e-300, 1 - 1e-16)[:, None]
    return np.exp(ways + k * np.log(chance) + (n - k) * np.log1p(-chance))


def tail(always, groups, limit, correlation=0.1):
    """P(always + sum of busy extras > limit), busy guests tied together by one common factor."""
    sums, rows = np.zeros(1), np.ones((len(Z), 1))
    for n, chance, extra in groups:
        if n == 0 or extra <= 0.0:
            continue
        busy = BELOW((NORMAL.inv_cdf(chance) - math.sqrt(correlation) * Z) / math.sqrt(1 - correlation))
        sums = (sums[:, None] + extra * np.arange(n + 1)[None, :]).ravel()
        rows = (rows[:, :, None] * binomial(n, busy)[:, None, :]).reshape(len(Z), -1)
    past = always + sums > limit + 1e-9 * abs(limit)
    return float(WEIGHTS @ rows[:, past].sum(axis=1))


class Lab:
    """The lab with its values drawn."""

    def __init__(self, data, drawn):
        host = data["host"][0]
        value = lambda path, default: drawn[path] if path in drawn else number(default)
        memory, merging, disk = host["memory"], host["merging"], host["disk"][0]
        own = f"host.{host['name']}."
        installed = sum(number(module) for module in memory["modules"])
        reserved = value(own + "memory.firmware_reserved", 0.5 * GIB)
        self.visible = (installed - reserved) * (1 - 64 / PAGE)
        self.usable = self.visible - value(own + "memory.base", 2 * GIB) - 0.1 * self.visible
        self.wake, self.cores = merging["pages_per_wake"], [(g["cores"], g["threads"]) for g in host["cpu"]["groups"]]
        self.capacity, self.endurance = number(disk["capacity"]), number(disk["endurance"])
        self.reads, self.writes = number(disk["read_iops"]), value(own + f"disk.{disk['name']}.write_iops", 0)
        self.link, self.image = number(host["network"]["link"]), number(data["image"][0]["size"])
        self.shares = [(guest["name"], guest["share"]) for guest in data["guest"]]
        self.guests = [self.guest(guest, value) for guest in data["guest"]]

    def guest(self, table, value_at):
        value = lambda key, default: value_at(f"guest.{table['name']}.{key}", table.get(key, default))
        memory, vcpus = value("memory", 0), table["vcpus"]
        touched_busy = min(value("touched_busy", 0), memory)
        touched = min(value("touched", 0), touched_busy)
        common = min(value("common", 0), touched)
        repeats = min(value("repeats", 0.1 * touched), touched - common)
        keeps = value("keeps", 0.9)
        idle = touched + keeps * (touched_busy - touched)
        return {
            "idle": idle, "common": common, "repeats": repeats, "unique": idle - common - repeats, "vcpus": vcpus,
            "grow": (1 - keeps) * (touched_busy - touched), "overhead": 38 * MIB + 8 * MIB * vcpus + memory / 512,
            "busy": value("busy", 0.05), "idle_load": 0.01, "busy_load": value("busy_load", 0.6),
            "reads_busy": value("reads_busy", 0), "writes_idle": value("writes_idle", 1), "writes_busy": value("writes_busy", 0),
            "written": value("written", 1e9 / DAY), "net_busy": value("net_busy", 0),
        }

    def fits(self, n):
        """Whether N guests are within every limit."""
        counts = webster(self.shares, n)
        pairs = list(zip(counts, self.guests))
        pages = sum(k * (g["common"] + g["repeats"] + g["unique"] / 9) for k, g in pairs) / PAGE
        ticks = lambda t: math.ceil(t / 0.004 - 1e-9)
        speed = self.wake / (0.004 * (ticks(0.020) + ticks(self.wake * 5.3e-6)))
        kappa = 1 / (1 + pages / speed * 1.5 / (6 * 3600))
        always = sum(k * (g["overhead"] + g["unique"] + (16 + 64) / PAGE * g["idle"] + (1 - kappa) * (g["common"] + g["repeats"]) + kappa * g["repeats"] / 256) for k, g in pairs)
        sets = sorted((g["common"], k) for k, g in pairs if k > 0)
        held = 0.0
        for i, (common, _) in enumerate(sets):
            held += (common - (sets[i - 1][0] if i else 0.0)) * math.ceil(sum(k for _, k in sets[i:]) / 256)
        always += kappa * held
        extra = lambda g: g["grow"] * (1 + (16 + 64) / PAGE) + kappa * 0.31 * (g["common"] + g["repeats"])
        if tail(always, [(k, g["busy"], extra(g)) for k, g in pairs], self.usable) > 0.005 * (1 + 1e-7):
            return False
        total = sum(cores * (1 + (threads - 1) * 0.25) for cores, threads in self.cores)
        supply = total - 0.2 - (speed * 5.3e-6 if n else 0.0)
        load = sum(k * g["vcpus"] * g["idle_load"] for k, g in pairs)
        rise = [(k, g["busy"], g["vcpus"] * (g["busy_load"] - g["idle_load"])) for k, g in pairs]
        if load + sum(k * a * d for k, a, d in rise) > supply or tail(load, rise, 1.5 * supply) > 0.05 * (1 + 1e-7):
            return False
        if 10e9 + (self.image if n else 0.0) + sum(k * 4 * GIB for k, _ in pairs) > 0.8 * self.capacity:
            return False
        idle = sum(k * g["writes_idle"] / self.writes for k, g in pairs)
        rise = [(k, g["busy"], g["reads_busy"] / self.reads + (g["writes_busy"] - g["writes_idle"]) / self.writes) for k, g in pairs]
        if tail(idle, rise, 0.7) > 0.05 * (1 + 1e-7):
            return False
        if (4e9 / DAY + sum(k * g["written"] for k, g in pairs)) * 5 * YEAR > self.endurance:
            return False
        return tail(0.0, [(k, g["busy"], g["net_busy"]) for k, g in pairs], 0.7 * self.link) <= 0.05 * (1 + 1e-7)


def largest(fits):
    if not fits(0):
        return -1
    low, high = 0, 1
    while fits(high):
        low, high = high, high * 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def uncertain(data):
    """The uncertain values by key path."""
    host = data["host"][0]
    tables = [(f"guest.{guest['name']}", guest) for guest in data["guest"]]
    tables += [(f"host.{host['name']}.memory", host["memory"]), (f"host.{host['name']}.disk.{host['disk'][0]['name']}", host["disk"][0])]
    found = {}
    for path, table in tables:
        for key, value in table.items():
            if isinstance(value, dict) and "likely" in value:
                found[f"{path}.{key}"] = [number(value[word]) for word in ("low", "likely", "high")]
    return found


def main():
    with open(sys.argv[1], "rb") as file:
        data = tomllib.load(file)
    draws, inputs = int(sys.argv[2]), uncertain(data)
    began = time.perf_counter()
    streams = {path: stream(1, path) for path in inputs}
    counts = []
    for _ in range(draws):
        drawn = {path: pert(*ends, (int(streams[path].random_raw() >> 11) + 0.5) / 2**53) for path, ends in inputs.items()}
        counts.append(largest(Lab(data, drawn).fits))
    print(f"{time.perf_counter() - began:.3f}", file=sys.stderr)
    print("\n".join(map(str, counts)))


main()
