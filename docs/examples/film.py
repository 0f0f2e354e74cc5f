"""The same as film.c through ctypes: an engine of the library at idle, a film that grows while it runs, an estimate.

    python3 film.py [libbladegap.so.1]
"""
import ctypes
import math
import sys

lib = ctypes.CDLL(sys.argv[1] if len(sys.argv) > 1 else "libbladegap.so.1")
text, number, size, handle = ctypes.c_char_p, ctypes.c_double, ctypes.c_size_t, ctypes.c_void_p
message = ctypes.create_string_buffer(8192)


def declare(name, result, *arguments):
    """A function whose last two arguments are the text of an error: raises it, or gives the result."""
    function = getattr(lib, "bladegap_" + name)
    function.restype = result
    function.argtypes = [*arguments, ctypes.c_char_p, size]

    def call(*values):
        values = [value.encode() if isinstance(value, str) else value for value in values]
        answer = function(*values, message, len(message))
        if message.value:
            raise RuntimeError(message.value.decode())
        return answer

    return call


engine_shipped = declare("engine_shipped", handle, text)
engine_set = declare("engine_set", ctypes.c_int, handle, text, number)
engine_get = declare("engine_get", ctypes.c_int, handle, text, ctypes.POINTER(number))
settle = declare("settle", handle, handle)
point_value = declare("point_value", ctypes.c_int, handle, text, ctypes.POINTER(number))
run_create = declare("run_create", handle, handle, text, ctypes.c_uint64)
run_set = declare("run_set", ctypes.c_int, handle, text, number, number)
run_step = declare("run_step", ctypes.c_int, handle, size)
run_value = declare("run_value", ctypes.c_int, handle, text, ctypes.POINTER(number))
run_table = declare("run_table", handle, handle, text)
estimate_create = declare("estimate_create", handle, handle)
estimate_add = declare("estimate_add", ctypes.c_int, handle, text, text, number, number)
estimate_add_text = declare("estimate_add_text", ctypes.c_int, handle, text, text, size)
estimate_compute = declare("estimate_compute", ctypes.c_int, handle)
estimate_value = declare("estimate_value", ctypes.c_int, handle, text, ctypes.POINTER(number))
estimate_table = declare("estimate_table", handle, handle, text)
table_text = declare("table_text", ctypes.c_int, handle, size, text, ctypes.POINTER(text))
table_number = declare("table_number", ctypes.c_int, handle, size, text, ctypes.POINTER(number))
for name in ("version", "engine_title", "point_outcome"):
    getattr(lib, "bladegap_" + name).restype = text
lib.bladegap_engine_title.argtypes = lib.bladegap_point_outcome.argtypes = [handle]
lib.bladegap_run_time_s.restype, lib.bladegap_run_time_s.argtypes = number, [handle]
lib.bladegap_table_row_count.restype, lib.bladegap_table_row_count.argtypes = size, [handle]
for kind in ("engine", "point", "run", "estimate", "table"):
    getattr(lib, f"bladegap_{kind}_destroy").argtypes = [handle]


def value_of(call, *arguments, kind=number):
    """What a function puts where its last argument points."""
    value = kind()
    call(*arguments, ctypes.byref(value))
    return value.value


def idle(engine):
    for film_um in (0, 50, 100):
        engine_set(engine, "film_um", film_um)
        point = settle(engine)
        speed_rpm, airflow_gps, learned_pct = (
            value_of(point_value, point, channel) for channel in ("speed_rpm", "airflow_gps", "learned_pct")
        )
        outcome = lib.bladegap_point_outcome(point).decode()
        print(
            f"film {film_um:3.0f} um: {outcome} at {speed_rpm:.0f} rpm with {airflow_gps:.2f} g/s of air, "
            f"{learned_pct:.0f} % learned"
        )
        lib.bladegap_point_destroy(point)
    engine_set(engine, "film_um", 0)


def grow(engine):
    run = run_create(engine, "settled", 1)
    run_set(run, "film_um", 100, 120)
    for _ in range(4):
        run_step(run, 40 * 100)
        film_um, speed_rpm = (value_of(run_value, run, channel) for channel in ("film_um", "speed_rpm"))
        print(f"at {lib.bladegap_run_time_s(run):3.0f} s: film {film_um:3.0f} um, {speed_rpm:.0f} rpm")
    events = run_table(run, "events")
    for row in range(lib.bladegap_table_row_count(events)):
        event = value_of(table_text, events, row, "text", kind=text).decode()
        print(f"  {value_of(table_number, events, row, 'time_s'):5.1f} s  {event}")
    lib.bladegap_table_destroy(events)
    lib.bladegap_run_destroy(run)


def estimate_film(engine):
    readings = """name,condition,value
tp_pct,key_on,10.6
speed_rpm,idle,811
tp_pct,idle,13.7
maf_gps,idle,2.3
learned_pct,idle,36
"""
    estimate = estimate_create(engine)
    estimate_add_text(estimate, "readings", readings, len(readings))
    estimate_add(estimate, "maf_gps", "hold_2500", 6.38, math.nan)
    estimate_compute(estimate)
    film, low, high = (value_of(estimate_value, estimate, name) for name in ("film_um", "film_low_um", "film_high_um"))
    print(f"if it is a film, it is {film:.0f} um thick ({low:.0f} to {high:.0f}); likeliest:")
    causes = estimate_table(estimate, "causes")
    for row in range(3):
        probability = value_of(table_number, causes, row, "probability")
        cause = value_of(table_text, causes, row, "text", kind=text).decode()
        print(f"  {'>' if probability > 0.999 else ' '} {min(100 * probability, 99.9):4.1f} %  {cause}")
    lib.bladegap_table_destroy(causes)
    lib.bladegap_estimate_destroy(estimate)


engine = engine_shipped("four-16")
print(f"bladegap {lib.bladegap_version().decode()}: {lib.bladegap_engine_title(engine).decode()}")
idle(engine)
grow(engine)
estimate_film(engine)
lib.bladegap_engine_destroy(engine)
