"""The draws of `fit examples/undecided.toml --draws N` in plain Python and numpy, to compare speed and counts with.

    python3 tests/bench/draws.py examples/undecided.toml 200

prints one count a draw, then the seconds that the draws took on the standard error. Needs Python 3.11 and numpy.
`cargo bench --bench draws` runs it, compares the counts draw by draw and prints how many times faster the program is.

It reads only what that example uses: scaling machines of one image, a fixed scanner, one pool, a link. It draws the same
numbers (PCG XSL RR 128/64, one stream an input), ranges that the file gives and guesses that stand in for what it leaves
out, and searches each draw from the start, by doubling and halving.
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


# --- the guesses: low, likely, high; of a rule the same in units of what it gives where all else is likely

HOUR = 3600.0
GUESSES = {
    "policy": {"correlation": (0.0, 0.05, 0.3)},
    "host.memory": {"base": (1 * GIB, 2 * GIB, 4 * GIB), "firmware_reserved": (0.35 * GIB, 0.5 * GIB, 1 * GIB)},
    "host.cpu": {"base_cores": (0.1, 0.2, 0.6)},
    "host.cpu.groups": {"smt_gain": (0.1, 0.25, 0.35)},
    "host.disk": {
        "base_used": (5e9, 10e9, 20e9), "base_written": (2e9 / DAY, 4e9 / DAY, 13e9 / DAY),
        "wa_ratio": (1.0, 1.0, 4.0), "amplification": (1.0, 1.0, 2.0),
    },
    "guest": {
        "keeps": (0.8, 0.9, 1.0), "busy_breaks": (0.1, 0.31, 0.6), "rewrite_interval": (1 * HOUR, 6 * HOUR, 48 * HOUR),
        "busy": (0.02, 0.08, 0.2), "idle_load": (0.003, 0.015, 0.03), "busy_load": (0.4, 0.7, 1.0),
        "disk_used": (2 * GIB, 4 * GIB, 12 * GIB), "writes_idle": (0.2, 1.0, 5.0), "written": (0.2e9 / DAY, 1e9 / DAY, 3e9 / DAY),
    },
}
# Shares of what the likely share is a share of, and multiples of a rule.
RULES = {
    "touched": (0.2 / 0.4, 1.0, 0.7 / 0.4), "touched_busy": (0.8 / 0.97, 1.0, 1.0 / 0.97),
    "common": (0.1 / 0.2, 1.0, 0.4 / 0.2), "repeats": (0.02 / 0.1, 1.0, 0.25 / 0.1), "overhead": (0.7, 1.0, 2.5),
}


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


def tail(always, groups, limit, correlation):
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
        own = f"host.{host['name']}."
        memory, merging, disk = host["memory"], host["merging"], host["disk"][0]
        pool = lambda key: drawn[own + f"disk.{disk['name']}.{key}"]
        installed = sum(number(module) for module in memory["modules"])
        self.visible = (installed - drawn[own + "memory.firmware_reserved"]) * (1 - 64 / PAGE)
        self.usable = self.visible - drawn[own + "memory.base"] - 0.1 * self.visible
        self.correlation, self.wake = drawn["policy.correlation"], merging["pages_per_wake"]
        groups = enumerate(host["cpu"]["groups"], 1)
        cores = [g["cores"] * (1 + (g["threads"] - 1) * drawn[own + f"cpu.groups.{i}.smt_gain"]) for i, g in groups]
        self.total, self.base_cores = sum(cores), drawn[own + "cpu.base_cores"]
        self.capacity, self.endurance = number(disk["capacity"]), number(disk["endurance"])
        self.endurance /= pool("wa_ratio") * pool("amplification")
        self.base_used, self.base_written = pool("base_used"), pool("base_written")
        self.reads, self.writes = number(disk["read_iops"]), pool("write_iops")
        self.link, self.image = number(host["network"]["link"]), number(data["image"][0]["size"])
        self.shares = [(guest["name"], guest["share"]) for guest in data["guest"]]
        self.guests = [self.guest(guest, drawn) for guest in data["guest"]]

    def guest(self, table, drawn):
        drawn_at = lambda key: drawn.get(f"guest.{table['name']}.{key}")
        value = lambda key, default=0: number(table.get(key, default)) if drawn_at(key) is None else drawn_at(key)
        rule = lambda key, given, by_rule: value(key) if key in table else given(by_rule * drawn_at(key))
        as_is = lambda number: number
        memory, vcpus = value("memory"), table["vcpus"]
        touched_busy = min(rule("touched_busy", as_is, 0.97 * memory), memory)
        touched = rule("touched", lambda guess: min(guess, touched_busy) if "touched_busy" in table else guess, 0.4 * memory)
        if "touched_busy" in table:
            touched = min(touched, touched_busy)
        touched_busy = max(touched_busy, touched)
        common = min(rule("common", as_is, 0.2 * touched), touched)
        repeats = min(rule("repeats", as_is, 0.1 * touched), touched - common)
        keeps = value("keeps")
        idle = touched + keeps * (touched_busy - touched)
        busy_load = max(value("busy_load"), value("idle_load"))
        if "busy_load" in table:
            busy_load = value("busy_load")
        return {
            "idle": idle, "common": common, "repeats": repeats, "unique": idle - common - repeats, "vcpus": vcpus,
            "grow": (1 - keeps) * (touched_busy - touched),
            "overhead": rule("overhead", as_is, 38 * MIB + 8 * MIB * vcpus + memory / 512),
            "breaks": value("busy_breaks"), "rewrite": value("rewrite_interval"),
            "busy": value("busy"), "idle_load": min(value("idle_load"), busy_load), "busy_load": busy_load,
            "reads_busy": value("reads_busy"), "writes_busy": value("writes_busy"),
            "writes_idle": min(value("writes_idle"), value("writes_busy")) if "writes_busy" in table else value("writes_idle"),
            "disk_used": value("disk_used"), "written": value("written"), "net_busy": value("net_busy"),
        }

    def fits(self, n):
        """Whether N guests are within every limit."""
        counts = webster(self.shares, n)
        pairs = list(zip(counts, self.guests))
        pages = sum(k * (g["common"] + g["repeats"] + g["unique"] / 9) for k, g in pairs) / PAGE
        ticks = lambda t: math.ceil(t / 0.004 - 1e-9)
        speed = self.wake / (0.004 * (ticks(0.020) + ticks(self.wake * 5.3e-6)))
        kappas = [1 / (1 + pages / speed * 1.5 / g["rewrite"]) for g in self.guests]
        merged = list(zip(counts, self.guests, kappas))
        always = sum(k * (g["overhead"] + g["unique"] + (16 + 64) / PAGE * g["idle"] + (1 - m) * (g["common"] + g["repeats"]) + m * g["repeats"] / 256) for k, g, m in merged)
        sets = sorted((g["common"], k) for k, g, m in merged if k > 0)
        held = 0.0
        for i, (common, _) in enumerate(sets):
            held += (common - (sets[i - 1][0] if i else 0.0)) * math.ceil(sum(k for _, k in sets[i:]) / 256)
        weights = sum(k * g["common"] for k, g, _ in merged)
        always += held * (sum(k * g["common"] * m for k, g, m in merged) / weights if weights else 0.0)
        extra = lambda g, m: g["grow"] * (1 + (16 + 64) / PAGE) + m * g["breaks"] * (g["common"] + g["repeats"])
        tail_of = lambda always, groups, limit: tail(always, groups, limit, self.correlation)
        if tail_of(always, [(k, g["busy"], extra(g, m)) for k, g, m in merged], self.usable) > 0.005 * (1 + 1e-7):
            return False
        supply = self.total - self.base_cores - (speed * 5.3e-6 if n else 0.0)
        load = sum(k * g["vcpus"] * g["idle_load"] for k, g in pairs)
        rise = [(k, g["busy"], g["vcpus"] * (g["busy_load"] - g["idle_load"])) for k, g in pairs]
        if load + sum(k * a * d for k, a, d in rise) > supply or tail_of(load, rise, 1.5 * supply) > 0.05 * (1 + 1e-7):
            return False
        if self.base_used + (self.image if n else 0.0) + sum(k * g["disk_used"] for k, g in pairs) > 0.8 * self.capacity:
            return False
        idle = sum(k * g["writes_idle"] / self.writes for k, g in pairs)
        rise = [(k, g["busy"], g["reads_busy"] / self.reads + (g["writes_busy"] - g["writes_idle"]) / self.writes) for k, g in pairs]
        if tail_of(idle, rise, 0.7) > 0.05 * (1 + 1e-7):
            return False
        if (self.base_written + sum(k * g["written"] for k, g in pairs)) * 5 * YEAR > self.endurance:
            return False
        return tail_of(0.0, [(k, g["busy"], g["net_busy"]) for k, g in pairs], 0.7 * self.link) <= 0.05 * (1 + 1e-7)


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
    """The uncertain values by key path: ranges of the file, and guesses for what it leaves out."""
    host = data["host"][0]
    own = f"host.{host['name']}."
    tables = [("policy", data.get("policy", {}), "policy")]
    tables += [(f"guest.{guest['name']}", guest, "guest") for guest in data["guest"]]
    tables += [(own + key, host[key], f"host.{key}") for key in ("memory", "cpu")]
    tables += [(own + f"cpu.groups.{i}", group, "host.cpu.groups") for i, group in enumerate(host["cpu"]["groups"], 1)]
    tables += [(own + f"disk.{disk['name']}", disk, "host.disk") for disk in host["disk"]]
    found = {}
    for path, table, section in tables:
        guesses = GUESSES[section] | (RULES if section == "guest" else {})
        found |= {f"{path}.{key}": ends for key, ends in guesses.items() if key not in table}
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
