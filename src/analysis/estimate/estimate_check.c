#include "analysis/estimate/estimate_check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "control/position.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define CHARGING_LEAST_V \
  13.2                       // below it something is wrong with charging, and above the other; common practice, no source: half a
#define CHARGING_MOST_V 15.0 // volt of meter, loads and temperature beside 13.8 to 14.7
/* All of our own choice: a unit that brings a reading nearer than this to a good car's, of what another condition does, is told alone; an
 * idle with so much of the air outside in its manifold is not throttled (a petrol engine that races on a leak has 60 kPa at most), nor
 * is one whose throttle stands open so far. */
#define PLACE_SHARE       0.33
#define PLACE_NEARER      0.5   // of how far it is from a good car here, that it may be from one there; our own choice
#define CRANKED_RPM       350.0 // 150 to 300 usual; common practice, no source
#define UNTHROTTLED_SHARE 0.88
#define WIDE_OPEN_PCT     60.0

#define LEAST_BATTERY_V 8.0 // what lies beyond these two is no reading of a 12 V battery
#define MOST_BATTERY_V  17.0

/* Kinds of quantity that are mistaken for each other's units. */
enum kind { FLOW, PRESSURE, SPEED, POSITION, TEMPERATURE, TRIM, SHARE, TRACK, VOLTAGE, AREA, KIND_COUNT };
static const char *const units[KIND_COUNT] = {"g/s", "kPa", "rpm", "%", "C", "%", "%", "V", "V", "mm2"}; // ours

static const struct {
  enum estimate_quantity quantity;
  enum kind kind;
} kinds[] = {
    {ESTIMATE_QUANTITY_maf_gps, FLOW},           {ESTIMATE_QUANTITY_map_kpa, PRESSURE},
    {ESTIMATE_QUANTITY_charge_kpa, PRESSURE},    {ESTIMATE_QUANTITY_manifold_kpa, PRESSURE},
    {ESTIMATE_QUANTITY_barometer_kpa, PRESSURE}, {ESTIMATE_QUANTITY_speed_rpm, SPEED},
    {ESTIMATE_QUANTITY_target_rpm, SPEED},       {ESTIMATE_QUANTITY_tp_pct, POSITION},
    {ESTIMATE_QUANTITY_blade_pct, POSITION},     {ESTIMATE_QUANTITY_coolant_c, TEMPERATURE},
    {ESTIMATE_QUANTITY_intake_c, TEMPERATURE},   {ESTIMATE_QUANTITY_trim_pct, TRIM},
    {ESTIMATE_QUANTITY_stft_pct, TRIM},          {ESTIMATE_QUANTITY_ltft_pct, TRIM},
    {ESTIMATE_QUANTITY_trim2_pct, TRIM},         {ESTIMATE_QUANTITY_stft2_pct, TRIM},
    {ESTIMATE_QUANTITY_ltft2_pct, TRIM},         {ESTIMATE_QUANTITY_load_pct, SHARE},
    {ESTIMATE_QUANTITY_idle_air_pct, SHARE},     {ESTIMATE_QUANTITY_learned_pct, SHARE},
    {ESTIMATE_QUANTITY_effort_pct, SHARE},       {ESTIMATE_QUANTITY_tps1_v, TRACK},
    {ESTIMATE_QUANTITY_tps2_v, TRACK},           {ESTIMATE_QUANTITY_maf_v, VOLTAGE},
    {ESTIMATE_QUANTITY_battery_v, VOLTAGE},      {ESTIMATE_QUANTITY_charging_v, VOLTAGE},
    {ESTIMATE_QUANTITY_closed_gap_mm2, AREA},    {ESTIMATE_QUANTITY_area_lost_pct, SHARE},
};

/* Columns: kind, what the value might be in, factor and offset to ours; whether to count from the air pressure outside. Of
 * several that fit equally well the first is told. */
static const struct slip {
  enum kind kind;
  const char *unit;
  double factor, offset;
  bool below_ambient;
} slips[] = {
    {FLOW, "kg/h", 1.0 / 3.6, 0.0, false},
    {FLOW, "lb/min", 453.59237 / 60.0, 0.0, false},
    {PRESSURE, "inHg", 3.38638, 0.0, false},
    {PRESSURE, "psi", 6.894757, 0.0, false},
    {PRESSURE, "mbar", 0.1, 0.0, false},
    {PRESSURE, "bar", 100.0, 0.0, false},
    {PRESSURE, "mmHg", 0.1333224, 0.0, false},
    {PRESSURE, "kPa of vacuum", -1.0, 0.0, true},
    {PRESSURE, "kPa against the air outside", 1.0, 0.0, true},
    {PRESSURE, "inHg of vacuum", -3.38638, 0.0, true},
    {PRESSURE, "inHg against the air outside", 3.38638, 0.0, true},
    {PRESSURE, "mbar of vacuum", -0.1, 0.0, true},
    {PRESSURE, "bar of vacuum", -100.0, 0.0, true},
    {PRESSURE, "psi of vacuum", -6.894757, 0.0, true},
    {SPEED, "rad/s", 1.0 / UNITS_RAD_S_PER_RPM, 0.0, false},
    {SPEED, "Hz", 60.0, 0.0, false},
    {SPEED, "thousands of rpm", 1000.0, 0.0, false},
    {TEMPERATURE, "F", 1.0 / 1.8, -32.0 / 1.8, false},
    {TEMPERATURE, "K", 1.0, -UNITS_KELVIN_AT_ZERO_C, false},
    {SHARE, "as a share of 1", 100.0, 0.0, false},
    {POSITION, "as a share of 1", 100.0, 0.0, false},
    {TRACK, "mV", 1e-3, 0.0, false},
    {TRACK, "% of 5 V", 0.05, 0.0, false},
    {VOLTAGE, "mV", 1e-3, 0.0, false},
    {AREA, "cm2", 100.0, 0.0, false},
};

static int kind_of(enum estimate_quantity quantity) {
  for (size_t i = 0; i < ARRAY_COUNT(kinds); i++)
    if (kinds[i].quantity == quantity) return (int)kinds[i].kind;
  return -1;
}

/* What was perhaps meant, and how it may have been written. */
struct guess {
  bool found;
  char unit[48];
  double value, off;
};

/* Where the value may have been read instead. */
struct place {
  bool found;
  enum estimate_condition condition;
  double good, off; // what a good car shows there, and how many spreads the value is from that
};

/* The reading that is looked at, among all. */
struct check {
  const struct estimate_readings *readings;
  const struct plausible_ranges *ranges;
  size_t index;
};

static const struct estimate_reading *reading_of(const struct check *check) { return &check->readings->readings[check->index]; }
static const struct plausible_range *row_of(const struct check *check) { return &check->ranges->rows[check->index]; }
static bool is_plausible(const struct check *check) { return plausible_holds(row_of(check), reading_of(check)->value); }

/* A slip of the unit is made at every condition alike: each reading of this quantity must be better off with it. */
static bool suits_all(const struct check *check, double factor, double offset) {
  for (size_t i = 0; i < check->readings->count; i++) {
    const struct estimate_reading *other = &check->readings->readings[i];
    if (other->quantity != reading_of(check)->quantity) continue;
    const struct plausible_range *row = &check->ranges->rows[i];
    if (plausible_off(row, factor * other->value + offset) >= plausible_off(row, other->value)) return false;
  }
  return true;
}

/* Takes the guess that ours = factor * given + offset if the engine can show that, and nearer to the usual than any guess so far;
 * a plausible reading must come right to a good car's, and the others of its quantity with it: an engine that races reads far from
 * the usual as well, and is none that was misread. */
static void consider(const struct check *check, double factor, double offset, const char *unit, struct guess *guess) {
  const double value = factor * reading_of(check)->value + offset;
  const double off = plausible_off(row_of(check), value);
  const bool like_good = fabs(value - row_of(check)->good) < ESTIMATE_CHECK_FAR * row_of(check)->spread;
  const bool fits = is_plausible(check) ? like_good && off < ESTIMATE_CHECK_NEAR && suits_all(check, factor, offset)
                                        : plausible_holds(row_of(check), value);
  if (!fits || (guess->found && guess->off <= off)) return;
  guess->found = true;
  guess->value = value;
  guess->off = off;
  snprintf(guess->unit, sizeof guess->unit, "%s", unit);
}

/* Degrees of blade or volts of a track written as a share of the travel. What degrees count from is not known: the blade across the
 * bore, or the closed stop. Of the latter one is 1.2 %, which, as a plausible reading, is not told from a leak. */
static void consider_position(const struct check *check, const struct engine *engine, struct guess *guess) {
  const double closed_deg = engine->plant.throttle.bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  const double per_degree = 100.0 / (90.0 - closed_deg);
  if (reading_of(check)->quantity == ESTIMATE_QUANTITY_blade_pct) {
    if (!is_plausible(check)) consider(check, per_degree, 0.0, "degrees above the closed stop", guess);
    consider(check, per_degree, -per_degree * closed_deg, "degrees from straight across the bore", guess);
  } else {
    consider(check, 100.0 / POSITION_SUPPLY_V, 0.0, "V of 5 V", guess);
  }
}

static void guess_meaning(const struct check *check, const struct estimate_readings_input *input,
                          const struct estimate_setting *setting, struct guess *guess) {
  const int kind = kind_of(reading_of(check)->quantity);
  const double ambient_kpa = conditions_ambient_pa(&setting->conditions) / UNITS_PA_PER_KPA;
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++)
    if ((int)slips[i].kind == kind)
      consider(check, slips[i].factor, slips[i].offset + (slips[i].below_ambient ? ambient_kpa : 0.0), slips[i].unit, guess);
  if (kind == POSITION) consider_position(check, input->engine, guess);
}

/* What the same quantity shows at every other condition where it can be read, at the value given. */
static void list_elsewhere(const struct check *check, const struct estimate_readings_input *input,
                           struct estimate_readings *elsewhere) {
  const struct estimate_reading *reading = reading_of(check);
  const unsigned where = estimate_quantities[reading->quantity].conditions & (ESTIMATE_AT_REST | ESTIMATE_AT_WARM);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if ((where & (1u << c)) && c != (int)reading->condition && input->has[c][reading->quantity] &&
        !estimate_readings_find(check->readings, reading->quantity, (enum estimate_condition)c))
      elsewhere->readings[elsewhere->count++] =
          (struct estimate_reading){reading->quantity, (enum estimate_condition)c, reading->value, reading->sd};
}

/* Finds the condition at which the value could have been read and is nearest to a good car's. */
static enum status find_place(const struct check *check, const struct estimate_readings_input *input,
                              const struct estimate_setting *setting, struct place *place, struct error *error) {
  struct estimate_readings *elsewhere = calloc(1, sizeof *elsewhere);
  struct plausible_ranges *ranges = calloc(1, sizeof *ranges);
  enum status status = elsewhere && ranges ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a question");
  if (status == STATUS_OK) list_elsewhere(check, input, elsewhere);
  if (status == STATUS_OK && elsewhere->count > 0)
    status = plausible_find(input->engine, setting, elsewhere, false, &for_each_serial, ranges, error);
  for (size_t i = 0; status == STATUS_OK && i < elsewhere->count; i++) {
    const struct plausible_range *row = &ranges->rows[i];
    const double off = fabs(reading_of(check)->value - row->good) / row->spread;
    const double here = fabs(reading_of(check)->value - row_of(check)->good);
    if (!plausible_holds(row, reading_of(check)->value) || (place->found && off >= place->off)) continue;
    if (fabs(reading_of(check)->value - row->good) >= here) continue; // nor is it like a good car there
    *place = (struct place){true, elsewhere->readings[i].condition, row->good, off};
  }
  free(elsewhere);
  free(ranges);
  return status;
}

/* 1.05 for a trim of 5 %: in percent, service 01 counts by 0.78 (SAE J1979), so that nothing lies between 0.78 and 1.56 but what
 * somebody has rounded to 1. */
#define RATIO_LEAST 0.85
#define RATIO_MOST  1.25
static bool is_trim_as_ratio(const struct check *check) {
  const double given = reading_of(check)->value;
  return kind_of(reading_of(check)->quantity) == TRIM && given > RATIO_LEAST && given < RATIO_MOST && fabs(given - 1.0) > 1e-9;
}

/* Decimals that suit the range. */
static int decimals_for(double width) { return width < 1.5 ? 3 : width < 20.0 ? 2 : width < 300.0 ? 1 : 0; }

/* More air than at idle: it may have been read at another speed. */
static bool is_off_idle(const struct check *check) {
  return kind_of(reading_of(check)->quantity) == FLOW && ((1u << reading_of(check)->condition) & ESTIMATE_AT_IDLING) &&
         reading_of(check)->value > row_of(check)->usual_high;
}

/* A regulator that does not hold is no cause that is tried, nor, on some engines, a generator that does not charge. */
static bool is_charging_wrong(const struct check *check, const struct engine *engine) {
  const double volts = reading_of(check)->value;
  return reading_of(check)->quantity == ESTIMATE_QUANTITY_charging_v && volts > LEAST_BATTERY_V && volts < MOST_BATTERY_V &&
         ((volts < CHARGING_LEAST_V && !(cause_prior(engine, CAUSE_generator) > 0.0)) || volts > CHARGING_MOST_V);
}

static void ask_charging(const struct estimate_readings_input *input, const struct check *check, struct error *error) {
  const struct estimate_reading *reading = reading_of(check);
  error_append(
      error, STATUS_BAD_DATA,
      "%s: %g V while it runs: 13.8 to 14.7 is usual (common practice, no source); %s. Repair that first and read again, or "
      "--trust",
      input->places[check->index], reading->value,
      reading->value < CHARGING_LEAST_V ? "the generator charges too little or not at all"
                                        : "the regulator lets too much through");
}

/* An engine that stands has no idle; nothing can be told from what it reads there. */
static bool is_standing(const struct check *check) {
  return reading_of(check)->quantity == ESTIMATE_QUANTITY_speed_rpm && reading_of(check)->value >= 0.0 &&
         reading_of(check)->value < CRANKED_RPM;
}

static void ask_standing(const struct estimate_readings_input *input, const struct check *check, struct error *error) {
  error_append(
      error, STATUS_BAD_DATA,
      "%s: at %g rpm the engine stands or is being cranked: that it does not run is another complaint than a bad idle, and "
      "nothing here applies; what was read with the key on and the engine off stands at key_on",
      input->places[check->index], reading_of(check)->value);
}

static void ask(const struct estimate_readings_input *input, const struct check *check, const struct guess *guess,
                const struct place *place, struct error *error) {
  const struct estimate_reading *reading = reading_of(check);
  const struct plausible_range *row = row_of(check);
  const char *name = estimate_quantities[reading->quantity].name, *condition = estimate_conditions[reading->condition].name;
  const char *engine = input->engine->name;
  const int decimals = decimals_for(row->high - row->low);
  const double near = ESTIMATE_CHECK_NEAR * row->spread; // what is taken as one of these cars
  char what[300], elsewhere[300] = "", meant[300] = "";
  if (row->low > row->high)
    snprintf(what, sizeof what, "%s@%s %g: %s does not run there with any cause", name, condition, reading->value, engine);
  else if (is_trim_as_ratio(check))
    snprintf(what, sizeof what, "%s@%s %g %% lies between two counts of a scan tool, 0.78 and 1.56", name, condition,
             reading->value);
  else if (!is_plausible(check))
    snprintf(what, sizeof what, "%s@%s %g is beyond what %s can show there with any cause (%.*f to %.*f)", name, condition,
             reading->value, engine, decimals, row->low, decimals, row->high);
  else
    snprintf(what, sizeof what, "%s@%s %g is far from what %s shows there, good or with a film (%.*f to %.*f)", name, condition,
             reading->value, engine, decimals, row->usual_low - near, decimals, row->usual_high + near);
  const char *const unit = kind_of(reading->quantity) < 0 ? "" : units[kind_of(reading->quantity)];
  const double guess_off = guess->found ? fabs(guess->value - row->good) / row->spread : INFINITY;
  const bool elsewhere_likely = place->found && guess_off > PLACE_SHARE * place->off;
  const bool both = elsewhere_likely && guess_off < place->off;
  if (elsewhere_likely)
    snprintf(elsewhere, sizeof elsewhere,
             "%g %s can be what %s shows (a good one %.*f): was it read there? Then write %s=%g@%s%s", reading->value, unit,
             estimate_conditions[place->condition].name, decimals, place->good, name, reading->value,
             estimate_conditions[place->condition].name, both ? "; or " : ", or --trust");
  if (guess->found && (both || !elsewhere_likely))
    snprintf(meant, sizeof meant, "%g %s would be %.*f %s: write %s=%.*f@%s if that is meant, or --trust%s", reading->value,
             guess->unit, decimals, guess->value, unit, name, decimals, guess->value, condition,
             is_off_idle(check) && !both ? "; or was the engine not idling? So much air it takes at speed" : "");
  else if (!elsewhere_likely)
    snprintf(meant, sizeof meant, "is it right, at that condition and in that unit? Then --trust");
  error_append(error, STATUS_BAD_DATA, "%s: %s; %s%s", input->places[check->index], what, elsewhere, meant);
}

/* Whether the engine is known to have idled at another speed than usual: one that races reads anything. */
static bool idled_otherwise(const struct check *check) {
  for (size_t i = 0; i < check->readings->count; i++) {
    const struct estimate_reading *other = &check->readings->readings[i];
    if (other->quantity == ESTIMATE_QUANTITY_speed_rpm && other->condition == reading_of(check)->condition &&
        plausible_off(&check->ranges->rows[i], other->value) > ESTIMATE_CHECK_NEAR)
      return true;
  }
  return false;
}

/* A reading that some cause explains is asked about only if it is just what a good car shows at speed or at rest: with other loads it
 * reads in between. Nor is it where a good car here is as near: on a car of which little is known what is shown there may be anything. */
static bool surely_elsewhere(const struct check *check, const struct place *place) {
  const double value = reading_of(check)->value;
  return place->found && place->off <= ESTIMATE_CHECK_NEAR &&
         fabs(value - place->good) < PLACE_NEARER * fabs(value - row_of(check)->good) &&
         (place->condition == ESTIMATE_CONDITION_hold_2500 || place->condition == ESTIMATE_CONDITION_key_on);
}

enum status estimate_check_readings(const struct estimate_readings_input *input, const struct estimate_setting *setting,
                                    const struct plausible_ranges *ranges, struct error *error) {
  const size_t before = error->line_count;
  for (size_t i = 0; i < input->given.count; i++) {
    const struct check check = {&input->given, ranges, i};
    const bool far = !is_plausible(&check) || plausible_off(row_of(&check), reading_of(&check)->value) > ESTIMATE_CHECK_FAR;
    struct guess guess = {0};
    if (is_charging_wrong(&check, input->engine)) {
      ask_charging(input, &check, error);
      continue;
    }
    if (is_standing(&check) && !is_plausible(&check)) {
      ask_standing(input, &check, error);
      continue;
    }
    if (is_trim_as_ratio(&check))
      guess = (struct guess){true, "as a ratio", 100.0 * reading_of(&check)->value - 100.0, 0.0};
    else if (far)
      guess_meaning(&check, input, setting, &guess);
    struct place place = {0};
    const bool asked = !is_plausible(&check) || guess.found;
    if (far && kind_of(reading_of(&check)->quantity) >= 0 && (asked || !idled_otherwise(&check))) {
      const enum status status = find_place(&check, input, setting, &place, error);
      if (status == STATUS_NO_MEMORY) return status;
    }
    if (asked || surely_elsewhere(&check, &place)) ask(input, &check, &guess, &place, error);
  }
  return error->line_count == before ? STATUS_OK : STATUS_BAD_DATA;
}

enum status estimate_check_throttled(const struct estimate_readings_input *input, const struct estimate_setting *setting,
                                     struct error *error) {
  const double ambient_kpa = conditions_ambient_pa(&setting->conditions) / UNITS_PA_PER_KPA;
  for (size_t i = 0; i < input->given.count; i++) {
    const struct estimate_reading *reading = &input->given.readings[i];
    const bool idles = reading->condition == ESTIMATE_CONDITION_idle || reading->condition == ESTIMATE_CONDITION_drive;
    const bool manifold = reading->quantity == ESTIMATE_QUANTITY_manifold_kpa || reading->quantity == ESTIMATE_QUANTITY_map_kpa;
    const bool open = kind_of(reading->quantity) == POSITION && reading->value > WIDE_OPEN_PCT && reading->value <= 100.0;
    const bool at_ambient = manifold && reading->value > UNTHROTTLED_SHARE * ambient_kpa && reading->value < ambient_kpa + 30.0;
    if (!idles || (!open && !at_ambient)) continue;
    return error_set(
        error, STATUS_NO,
        "%s: not throttled at idle (%s@%s %g%s), as a diesel or an engine that stands: nothing here applies; if it is "
        "throttled, read it again, or --trust",
        input->places[i], estimate_quantities[reading->quantity].name, estimate_conditions[reading->condition].name,
        reading->value, open ? ": the throttle stands open" : ": the manifold is at the air outside");
  }
  return STATUS_OK;
}
