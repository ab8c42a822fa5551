"""Headings of the sheets that describe the shop and its calendar: what a plan has to respect."""

from __future__ import annotations

from riskcheck.fleet.kinds import REFERENCES, SheetKind, field

_NOTE = field("note", "notes,comments,comment,remark,remarks")
_SKILLS = "skill,levels,level,grade,can do,certified for,certificates"
_ANY_VEHICLE = ("vehicle_id", "unit", "vin", "plate")
_BAY = field("bay", "bay name,bay no,bay number,bay id,lift no,stall,stall no")

_HOURS_FIELDS = (
    field("date", "day,week,week of,week starting,from,from date"),
    field("to", "to date,until"),
    field("skill", "skills,level,grade"),
    field("bay_hours", "hours free,free hours,hours available,available hours,hours"),
    field("bays", "bays free,free bays,lifts"),
    field("technician", "tech,mechanic,who"),
    _NOTE,
)
_PART_FIELDS = (
    field("part", "part no,part number,item no,sku,part name,part description"),
    field("on_hand", "qty on hand,in stock,stock,quantity on hand,qoh,on the shelf"),
    field("lead_days", "lead time,lead time days,days to get,delivery days"),
    field("topic", "for job,job,used for,remedy"),
    field("unit_cost", "cost,price"),
    _NOTE,
)
_AWAY_FIELDS = (
    *REFERENCES,
    _BAY,
    field("technician", "tech,technician name,mechanic,who"),
    field("from_date", "from,start,start date,first day,away from,not available from,begins"),
    field("to_date", "to,until,end,end date,last day,through,away until,back on,ends"),
    field("what", "why,reason,away for,unavailable because,not available because"),
    _NOTE,
)
_BAY_FIELDS = (
    _BAY,
    field("hours_per_day", "hours a day,hours per day,daily hours,hours daily,hrs per day"),
    field("equipment", "lift type,equipped with,fitted with,rack,what it has"),
    field("max_weight", "max weight,weight limit,lift capacity,max vehicle weight,lifts up to"),
    _NOTE,
)
_TECHNICIAN_FIELDS = (
    field("technician", "tech,technician name,tech name,mechanic,mechanic name"),
    field("skills", _SKILLS),
    field("hours_per_day", "hours a day,hours per day,daily hours,hours daily,hrs per day"),
    _NOTE,
)
_FIXED_FIELDS = (
    *REFERENCES,
    field("what", "what is due,fixed for,reason,inspection,event,what for"),
    field("fixed_date", "fixed on,must be done on,must be in on,inspection date,set date"),
    field(
        "tolerance_days",
        "tolerance,days either way,tolerance in days,days of grace,may move by days",
    ),
    _NOTE,
)
_PIN_FIELDS = (
    *REFERENCES,
    field("job", "hazard,hazard id,job id,job name,hazard or job,topic"),
    field("date", "week,week of,week starting,day,on,week or date"),
    field("pin", "pinned or forbidden,pinned,keep or avoid,must or must not,pin or forbid"),
    _NOTE,
)
_DUE_FIELDS = (
    *REFERENCES,
    field(
        "what",
        "service due,due service,next service,service coming due,pm due,next pm,maintenance due,"
        "service type,pm type",
    ),
    field("due_date", "due on,next due,next due date,date due,service due date,due by"),
    field(
        "due_odometer",
        "due at,due miles,due mileage,due at miles,next due miles,next due mileage,"
        "miles due,due at mileage,due km",
    ),
    field("hours", "job hours,hours needed,takes hours,hours for it"),
    _NOTE,
)
_SPARE_FIELDS = (
    field("customer_id", "customer,cust,cust id,customer no,account,account no,client"),
    field("fleet", "fleet name,company,company name,business"),
    field("type", "vehicle type,model,duty,type of vehicle,class"),
    field("spares", "spare vehicles,how many may be out,may be out at once,can be spared"),
    _NOTE,
)
_POLICY_FIELDS = (
    field("figure", "policy figure"),
    field("value", "policy value,setting"),
    field("unit", "units,unit of measure"),
    field("where_from", "where from,source,where it comes from,comes from"),
)

SHOP_KINDS: tuple[SheetKind, ...] = (
    SheetKind("parts", "parts on hand", _PART_FIELDS, (("part",), ("on_hand", "lead_days"))),
    SheetKind("hours", "workshop hours", _HOURS_FIELDS, (("date",), ("bay_hours", "bays"))),
    SheetKind(
        "away",
        "days when a vehicle, bay or technician is away",
        _AWAY_FIELDS,
        ((*_ANY_VEHICLE, "bay", "technician"), ("from_date",), ("to_date", "what")),
    ),
    SheetKind(
        "bays", "bays", _BAY_FIELDS, (("bay",), ("hours_per_day", "equipment", "max_weight"))
    ),
    SheetKind(
        "technicians", "technicians", _TECHNICIAN_FIELDS,
        (("technician",), ("skills", "hours_per_day")),
    ),
    SheetKind(
        "fixed_dates", "fixed dates", _FIXED_FIELDS, (_ANY_VEHICLE, ("fixed_date",), ("what",))
    ),
    SheetKind("pins", "pinned weeks", _PIN_FIELDS, (_ANY_VEHICLE, ("pin",), ("date",))),
    SheetKind(
        "services_due", "services coming due", _DUE_FIELDS,
        (_ANY_VEHICLE, ("what",), ("due_date", "due_odometer")),
    ),
    SheetKind(
        "spares", "spare vehicles", _SPARE_FIELDS,
        (("spares",), ("type", "fleet", "customer_id")),
    ),
    SheetKind("policy", "policy figures", _POLICY_FIELDS, (("figure",), ("value",))),
)  # fmt: skip
