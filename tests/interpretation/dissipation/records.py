"""Records made from printed equations, without any code of the project, and one from a file."""

import numpy as np
from lxml import etree

from pushproof.model.equipment import Cone
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding, Water, WaterOrigin

DEGREE = np.array([20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0])
T_U1 = np.array([0.014, 0.032, 0.063, 0.118, 0.226, 0.463, 1.04])
T_U2 = np.array([0.038, 0.078, 0.142, 0.245, 0.439, 0.804, 1.60])
"""Teh & Houlsby (1991), from memory: the same numbers stand in two notes of the project."""

RADIUS = np.sqrt(1e-3 / np.pi)


def table_record(ch, Ir, u_i, u0, table=T_U2, radius=RADIUS, steps=200):
    """Return time and pressure along the tabulated curve; outside it the ends run on straight."""
    time = np.geomspace(0.5, 200 * 3600.0, steps)
    T = ch * time / (radius**2 * np.sqrt(Ir))
    x, y = np.log(table), DEGREE
    slope = (y[-1] - y[-2]) / (x[-1] - x[-2])
    degree = np.interp(np.log(T), x, y)
    early = np.log(T) < x[0]
    degree[early] = 20.0 * np.sqrt(T[early] / table[0])
    late = np.log(T) > x[-1]
    degree[late] = 100.0 - 20.0 * np.exp(-slope / 20.0 * (np.log(T[late]) - x[-1]))
    return np.append(0.0, time), np.append(u_i, u_i - degree / 100.0 * (u_i - u0))


def dilatory_record(ch, Ir, OCR, stress, u0, Mc=1.2, L=0.8, radius=RADIUS):
    """Return time and pressure of Burns & Mayne (1998), typed from the notes (from memory)."""
    time = np.geomspace(0.5, 40 * 3600.0, 300)
    T = ch * time / (radius**2 * Ir**0.75)
    h = (OCR / 2.0) ** L
    octahedral = stress * 2.0 * Mc / 3.0 * h * np.log(Ir)
    shear = stress * (1.0 - h)
    return time, u0 + octahedral / (1 + 50 * T) + shear / (1 + 5000 * T)


def sounding(time, u, channel="u2", depth=10.0, water=None, area=1e-3, **more):
    """Return a sounding that holds one test."""
    columns = {"time": np.asarray(time, float), channel: np.asarray(u, float)}
    columns |= {key: np.asarray(value, float) for key, value in more.items()}
    test = Dissipation(depth, Series(columns))
    level = None if water is None else Water(level=water, origin=WaterOrigin.MEASURED)
    readings = Series({"length": np.array([depth]), "qc": np.array([900.0])})
    return Sounding("A", readings, cone=Cone(tip_area=area), water=level, dissipations=(test,))


def diggs_record(folder):
    """Return time, pressure and the reported values of the DIGGS sample, read with lxml alone."""
    root = etree.parse(folder / "diggs" / "cptu_with_dissipation_2.6.xml").getroot()
    (test,) = [
        one
        for one in root.iter("{*}Test")
        if one.find(".//{*}PorePressureDissipationTest") is not None
    ]
    reported = [float(x) for x in test.find(".//{*}ResultSet/{*}dataValues").text.split(",")]
    time = [float(x) for x in test.find(".//{*}timeIntervalList").text.split()]
    u = [float(x) for x in test.find(".//{*}PpdResultSet/{*}dataValues").text.split()]
    rigidity = float(test.find(".//{*}estimatedIr").text)
    depth = float(test.find(".//{*}PointLocation/{*}pos").text)
    area = float(root.find(".//{*}tipArea").text) * 1e-4
    names = ("u0", "water", "u50", "t50", "ch")
    return time, u, dict(zip(names, reported, strict=True)), rigidity, depth, area
