"""Reference values for longitude and latitude of points in local axes. Run: python3 geographic.py > geographic.json

Two general libraries: PROJ (pyproj: its topocentric and cartesian conversions, WGS 84) gives the place of each point on the plane
that touches the ellipsoid at the origin; GeographicLib (geographiclib) gives the length of the geodesic from the origin to that
place, which says how far a plane may stand for the earth. Turning to grid north is done here, by complex numbers.
"""

import cmath
import json
import math
import random

import pyproj
from geographiclib.geodesic import Geodesic

random.seed(27)

ORIGINS = [
    # longitude, latitude, degrees
    (0.0, 0.0),
    (-30.0, 0.0),
    (-32.5, 41.25),
    (151.2, -33.9),
    (179.9999, -17.0),
    (-179.9999, 65.5),
    (180.0, 12.0),
    (-180.0, -80.0),
    (12.0, 89.9999),
    (-100.0, -89.9999),
    (45.0, 90.0),
    (45.0, -90.0),
    (100.0, 89.5),
]


def cases():
    for longitude, latitude in ORIGINS:
        for reach in (0.5, 30.0, 1e3, 1e4, 9e4):
            for _ in range(2):
                yield longitude, latitude, reach
    for _ in range(40):
        longitude, latitude = random.uniform(-180, 180), math.degrees(math.asin(random.uniform(-1, 1)))
        yield longitude, latitude, 10 ** random.uniform(-1, 4)


def main():
    rows = []
    for longitude, latitude, reach in cases():
        grid_north = random.choice([0.0, random.uniform(-0.1, 0.1), random.uniform(-math.pi, math.pi)])
        origin_east, origin_north = random.choice([(0.0, 0.0), (500123.25, 4100000.5)])
        bearing = random.uniform(0, 2 * math.pi)
        # Of the doubles as they are printed: what is taken off is what was put on.
        east, north = origin_east + reach * math.sin(bearing), origin_north + reach * math.cos(bearing)
        local = complex(east - origin_east, north - origin_north)
        # Clockwise by the azimuth of grid north.
        true = local * cmath.exp(complex(0, -grid_north))
        to_place = pyproj.Transformer.from_pipeline(
            "+proj=pipeline +ellps=WGS84"
            f" +step +inv +proj=topocentric +ellps=WGS84 +lon_0={longitude!r} +lat_0={latitude!r} +h_0=0"
            " +step +inv +proj=cart +ellps=WGS84 +step +proj=unitconvert +xy_in=rad +xy_out=deg"
        )
        lon, lat, _ = to_place.transform(true.real, true.imag, 0.0)
        geodesic = Geodesic.WGS84.Inverse(latitude, longitude, lat, lon)
        rows.append(
            {
                "longitude_deg": longitude,
                "latitude_deg": latitude,
                "grid_north_rad": grid_north,
                "origin_m": [origin_east, origin_north],
                "point_m": [east, north],
                "expected_deg": [lon, lat],
                "geodesic_m": geodesic["s12"],
            }
        )
    print("[\n" + ",\n".join(json.dumps(row) for row in rows) + "\n]")


main()
