"""The headings people write, and the field each one means, for every kind of sheet.

Words are compared after ``normalise`` in ``riskcheck.fleet.headings``: lower case, no
punctuation, "#" as "no".  The order of KINDS settles ties between kinds.
"""

from __future__ import annotations

from riskcheck.fleet.fields_shop import SHOP_KINDS
from riskcheck.fleet.kinds import REFERENCES, SheetKind
from riskcheck.fleet.kinds import field as _field

ODOMETER = _field(
    "odometer",
    "odo,odom,mileage,milage,miles,current mileage,current odometer,current miles,odometer now,"
    "odometer reading,odo reading,mileage in,miles in,odo in,odometer in,km,kms,kilometers,"
    "kilometres,meter,meter reading,last odometer,latest odometer,last mileage,odometer today,"
    "mileage at service,odometer at service,total miles,odometer latest",
)
ENGINE_HOURS = _field(
    "engine_hours",
    "eng hours,eng hrs,engine hrs,engine hour,hour meter,hourmeter,meter hours,hours on engine",
)
CUSTOMER = _field(
    "customer_id",
    "customer,cust,cust id,cust no,customer no,customer number,account,account no,account id,"
    "account number,acct,acct no,client,client id,client no,owner,owner id,customer code",
)
NAME = _field(
    "name", "customer name,cust name,owner name,client name,full name,contact name,account name"
)
PHONE = _field(
    "phone",
    "ph,phone no,phone number,tel,telephone,telephone no,mobile,mobile no,cell,cell phone,"
    "cellphone,"
    "contact no,contact number,daytime phone,home phone",
)
EMAIL = _field("email", "e mail,mail,email address,e mail address")
OPT_OUT = _field("opt_out", "opted out,do not contact,dnc,no contact,dont contact,do not call")

VEHICLE_DETAILS = (
    _field("make", "manufacturer,mfr,vehicle make,veh make,make name,mfg"),
    _field("model", "model name,vehicle model,veh model,mdl"),
    _field("engine", "engine type,engine code,engine model,eng,motor,engine family,powerplant"),
    _field("model_year", "year,my,yr,mdl yr,model yr,veh year,vehicle year,yr model"),
    _field(
        "in_service",
        "in service date,date in service,first registration,first registered,first reg,"
        "first registration date,registered since,purchase date,date purchased,purchased,acquired,"
        "acquisition date,date acquired,delivery date,delivered,in svc,in svc date,new on,"
        "put in service,into service",
    ),
    _field("build_date", "built,date of manufacture,manufactured,production date,built on"),
    _field("duty", "use,vehicle use,use type,duty class,vocation,used for,duty type"),
    _field(
        "gvwr",
        "gvw,gross weight,gross vehicle weight,gross vehicle weight rating",
    ),
    _field("value", "vehicle value,market value,book value,est value,value usd,worth"),
    _field("state", "vehicle status,disposition,in fleet,fleet status,active,status"),
    _field("state_date", "sold date,date sold,sold on,disposed,disposal date,date disposed"),
    _field(
        "warranty_end",
        "warranty expires,warranty expiry,warranty until,warranty to,warranty end date,"
        "warranty expiration",
    ),
    _field(
        "owner_since",
        "new owner since,owner from,changed hands,changed hands on,ownership date,new owner date,"
        "owned since",
    ),
    _field("goodwill_end", "goodwill expires,goodwill until,goodwill to"),
    _field(
        "inspection_due",
        "next inspection,inspection expires,insp due,annual inspection due,sticker due,"
        "inspection due date,inspection expiry,next insp",
    ),
    _field("open_recall", "open recalls,open recall seen,open recall entered by shop"),
    _field(
        "annual_miles",
        "miles per year,annual mileage,mi per year,yearly miles,miles yr,annual mi,miles a year",
    ),
    _field("odometer_unit", "odo unit,unit of odometer,mileage unit,odometer units,meter unit"),
    _field(
        "odometer_date",
        "odo date,reading date,mileage date,date of reading,odometer as of,last reading date,"
        "odometer read on,mileage as of,read on,date read",
    ),
    _field("appointment", "next appointment,booked for,booked,next booking,appointment date"),
)

SERVICE_FIELDS = (
    *REFERENCES,
    _field(
        "date",
        "service date,svc date,ro date,invoice date,visit date,date closed,closed,close date,"
        "closed date,closed on,completed,date completed,completion date,work date,repair date,"
        "done on,date of service,date done,finished,date out,work order date,wo date",
    ),
    _field("date_opened", "open date,opened,date in,in date,received,drop off date,opened on"),
    _field("date_promised", "promised,promise date,promised for,promised on"),
    _field("date_posted", "posted,posting date,posted on,gl date"),
    ODOMETER,
    _field("odometer_out", "mileage out,miles out,odo out"),
    ENGINE_HOURS,
    _field("odometer_unit", "odo unit,mileage unit,odometer units"),
    _field(
        "line",
        "description,work,work done,work performed,service,service description,service performed,"
        "repair,repairs,repair description,job,job description,labor description,"
        "labour description,operation,op description,line description,line text,details,"
        "what was done,what we did,correction,narrative,line item,service line,"
        "work description,item,"
        "repair line,job line,labor line,labour line,svc description,services",
        many=True,
    ),
    _field(
        "complaint",
        "customer complaint,concern,customer concern,customer states,reason for visit,request,"
        "problem,customer request,reported problem",
    ),
    _field("cause", "diagnosis,finding,findings,tech finding", many=True),
    _field(
        "remarks",
        "notes,note,comments,comment,remark,technician notes,tech notes,tech comments,"
        "technician comments,recommendations,advice,recommendation",
        many=True,
    ),
    _field(
        "invoice",
        "invoice no,invoice number,ro,ro no,ro number,repair order,repair order no,work order,wo,"
        "wo no,work order no,work order number,order no,ticket,ticket no,job no,inv,inv no,"
        "document no,doc no,job number,order number",
    ),
    _field(
        "line_status",
        "status,ro status,doc type,document type,invoice status,estimate or invoice,type,"
        "line type,wo status,order status",
    ),
    _field("approved", "authorised,authorized,customer approved,accepted,customer answer,signed"),
    _field("part_quantity", "qty,quantity,part qty"),
    _field("part_no", "part number,part,part no,parts"),
    _field("amount", "total,price,cost,line total,ext,extended,charge,amt,sale"),
    _field("labour_hours", "labor hours,labor hrs,labour hrs,flat rate hours,billed hours"),
    _field("technician", "tech,mechanic,tech id,technician id,serviced by,done by"),
    _field("code", "codes,dtc,dtcs,fault code,fault codes,trouble code,trouble codes"),
)

MEASUREMENT_FIELDS = (
    *REFERENCES,
    _field("date", "measured on,test date,measurement date,date measured,reading date,date tested"),
    ODOMETER,
    _field("quantity", "measurement,measured,test,parameter,what,what was measured,check,property"),
    _field("value", "reading,result,measured value,test result,measurement value,found"),
    _field("measure_unit", "unit,units,uom,unit of measure,unit of measurement,measured in"),
    _field("invoice", "invoice no,ro,ro no,work order,wo,wo no"),
    _field("remarks", "notes,note,comments,comment,remark"),
    _field("technician", "tech,mechanic,measured by,tested by"),
)
CODE_FIELDS = (
    *REFERENCES,
    _field("date", "code date,date read,scan date,read on,set on,date set,scanned"),
    ODOMETER,
    _field("code", "codes,dtc,dtcs,fault code,fault codes,trouble code,trouble codes"),
    _field("spn", "spn no,suspect parameter number"),
    _field("fmi", "fmi no,failure mode identifier"),
    _field("remarks", "notes,note,comments,description,meaning,text,comment,words"),
    _field("line_status", "status,state,active"),
)
CUSTOMER_FIELDS = (
    CUSTOMER,
    NAME,
    PHONE,
    _field("phone_2", "other phone,second phone,alt phone,work phone,phone 2,alternate phone"),
    EMAIL,
    _field("address", "street,mailing address,street address,postal address,addr"),
    _field("city", "town"),
    _field("region", "state,province,county"),
    _field("postcode", "zip,zip code,postal code,post code"),
    _field("kind", "customer type,type,category,class,account type,customer kind"),
    _field("fleet", "fleet name,company,company name,business,organisation,organization"),
    _field(
        "consent_call",
        "ok to call,call ok,may call,calls ok,consent to calls,consent phone,can call",
    ),
    _field(
        "consent_text",
        "ok to text,text ok,may text,texts ok,consent to texts,consent sms,sms ok,can text",
    ),
    _field(
        "consent_email",
        "ok to email,email ok,may email,emails ok,consent to email,consent to emails,can email",
    ),
    OPT_OUT,
    _field("notes", "note,comments,comment,remark,remarks"),
)
CONTACT_FIELDS = (
    CUSTOMER,
    NAME,
    *REFERENCES,
    _field("date", "contact date,called on,date of contact,contacted,contacted on,when"),
    _field("channel", "method,how,via,contact method,contact type,medium"),
    _field("topic", "reason,subject,about,regarding,hazard,hazard id,why"),
    _field("result", "outcome,response,answer,reply,contact result"),
    _field("note", "notes,comments,comment,remark,remarks"),
)
APPOINTMENT_FIELDS = (
    *REFERENCES,
    CUSTOMER,
    NAME,
    _field(
        "appointment",
        "appointment date,booked for,booked,appt,appt date,booking,next appointment,"
        "booking date,coming in,coming in on",
    ),
    _field("time", "start,start time,hour"),
    _field("note", "notes,comments,reason,for,work,job,description,what for,remarks"),
)
VEHICLE_FIELDS = (
    *REFERENCES,
    *VEHICLE_DETAILS,
    ODOMETER,
    ENGINE_HOURS,
    CUSTOMER,
    NAME,
    PHONE,
    EMAIL,
    OPT_OUT,
)
# A flat export repeats vehicle fields on every visit; "status" there is the line's.
FLAT_VEHICLE_FIELDS = tuple(
    field
    for field in (*VEHICLE_DETAILS, CUSTOMER, NAME, PHONE, EMAIL, OPT_OUT)
    if field.name not in {"state", "odometer_unit", "odometer_date", "value"}
)

_ANY_VEHICLE = ("vehicle_id", "unit", "vin", "plate")
KINDS: tuple[SheetKind, ...] = (
    SheetKind(
        "service",
        "service history",
        (*SERVICE_FIELDS, *FLAT_VEHICLE_FIELDS),
        (
            ("line", "complaint", "cause", "remarks"),
            ("date", "date_opened", "invoice"),
            _ANY_VEHICLE,
        ),
    ),
    SheetKind(
        "measurements",
        "measurements",
        MEASUREMENT_FIELDS,
        (_ANY_VEHICLE, ("quantity",), ("value",)),
    ),
    SheetKind("codes", "fault codes", CODE_FIELDS, (_ANY_VEHICLE, ("code", "spn"))),
    SheetKind(
        "contacts",
        "contact log",
        CONTACT_FIELDS,
        (("customer_id", "name", *_ANY_VEHICLE), ("date",), ("channel", "result")),
    ),
    SheetKind("appointments", "appointments", APPOINTMENT_FIELDS, (_ANY_VEHICLE, ("appointment",))),
    SheetKind(
        "customers",
        "customers",
        CUSTOMER_FIELDS,
        (
            ("customer_id", "name"),
            (
                "phone",
                "email",
                "address",
                "consent_call",
                "consent_text",
                "consent_email",
                "opt_out",
            ),
        ),
    ),
    SheetKind(
        "vehicles",
        "vehicles",
        VEHICLE_FIELDS,
        (
            _ANY_VEHICLE,
            ("make", "model", "engine", "model_year", "in_service", "odometer", "gvwr", "duty"),
        ),
    ),
    *SHOP_KINDS,
)
KIND_BY_NAME = {kind.name: kind for kind in KINDS}
