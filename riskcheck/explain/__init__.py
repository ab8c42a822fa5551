"""One vehicle: what is known, what was concluded and by which rules, in figures and codes."""

from riskcheck.explain.case import Case
from riskcheck.explain.find import find_vehicle
from riskcheck.explain.vehicle import view_vehicle, view_vehicles
from riskcheck.explain.view import HazardView, VehicleView

__all__ = [
    "Case",
    "HazardView",
    "VehicleView",
    "find_vehicle",
    "view_vehicle",
    "view_vehicles",
]
