"""One vehicle: what is known, what was concluded and by which rules, in figures and codes."""

from riskcheck.explain.find import find_vehicle
from riskcheck.explain.vehicle import HazardView, VehicleView, view_vehicle

__all__ = ["HazardView", "VehicleView", "find_vehicle", "view_vehicle"]
