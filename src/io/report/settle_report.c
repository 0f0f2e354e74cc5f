#include "io/report/settle_report.h"

#include "base/attributes.h"
#include "base/us_units.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <string.h>

/* ---- The outcome in words ---- */

static void print_stall(const struct settle_report *report, FILE *stream) {
  char words[1024];
  size_t used = 0;
  const struct settle_point *point = report->point;
  used += (size_t)snprintf(words, sizeof words, "There is no settled point: it stalls.");
  if (point->short_nm > 0.0)
    used += (size_t)snprintf(words + used, sizeof words - used,
                             " At its target of %.0f rpm, with all the air that idle control can add and the spark of that "
                             "speed, it lacks %.1f Nm to keep itself turning.",
                             report->target_rpm, point->short_nm);
  size_t saving = 0;
  for (size_t i = 0; i < report->without_count; i++) saving += report->without[i].outcome != SETTLE_STALLS;
  for (size_t i = 0; i < report->without_count && used < sizeof words; i++) {
    const struct settle_report_without *one = &report->without[i];
    const struct field *field = &condition_rows[one->condition].field;
    if (one->outcome == SETTLE_STALLS) continue;
    used +=
        (size_t)snprintf(words + used, sizeof words - used, " Without %s=%.10g", field->key, field_from_si(field, one->value));
    if (used >= sizeof words) break;
    if (one->outcome == SETTLE_IDLES)
      used += (size_t)snprintf(words + used, sizeof words - used, " it would idle at its target of %.0f rpm.", one->target_rpm);
    else if (isfinite(one->speed_rpm))
      used += (size_t)snprintf(words + used, sizeof words - used, " it would run at %.0f rpm.", one->speed_rpm);
    else
      used += (size_t)snprintf(words + used, sizeof words - used, " it would not.");
  }
  if (saving == 0 && report->without_count > 1 && used < sizeof words)
    snprintf(words + used, sizeof words - used,
             " None of the %zu settings causes it alone: without any one of them it still stalls.", report->without_count);
  text_wrap(stream, 0, words);
}

static void print_outcome(const struct settle_report *report, FILE *stream) {
  const struct settle_point *point = report->point;
  const double *v = point->values;
  const double first_rpm = point->branch_rad_s[0] / UNITS_RAD_S_PER_RPM,
               second_rpm = point->branch_rad_s[1] / UNITS_RAD_S_PER_RPM;
  switch (point->outcome) {
  case SETTLE_IDLES:
    fprintf(stream, "It idles at its target of %.0f rpm.\n", v[CHANNEL_target_rpm]);
    break;
  case SETTLE_DROOPS:
    fprintf(stream, "It droops: %.0f rpm, %.0f below its target; controller and learned offset have nothing left.\n",
            v[CHANNEL_speed_rpm], v[CHANNEL_target_rpm] - v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_RACES:
    fprintf(stream, "It races: %.0f rpm, %.0f above its target; the controller cannot take more air away.\n",
            v[CHANNEL_speed_rpm], v[CHANNEL_speed_rpm] - v[CHANNEL_target_rpm]);
    break;
  case SETTLE_HELD:
    fprintf(stream, "It is held at %.0f rpm with %.1f %% of pedal.\n", v[CHANNEL_speed_rpm], v[CHANNEL_pedal_pct]);
    break;
  case SETTLE_STANDS:
    fprintf(stream, "Key on, engine standing.\n");
    break;
  case SETTLE_STALLS:
    print_stall(report, stream);
    break;
  case SETTLE_CANNOT_HOLD:
    fprintf(stream, "That speed cannot be held: even with far more pedal than usual it runs at %.0f rpm.\n",
            v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_LIMPS:
    fprintf(stream, "It limps home at %.0f rpm: the throttle drive is off, and the springs hold the blade.\n",
            v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_CUTS:
    fprintf(stream,
            "It limps home with the throttle drive off, and is so fast that fuel is cut at %.0f rpm and comes back at %.0f.\n",
            first_rpm, second_rpm);
    break;
  case SETTLE_LIMITED:
    fprintf(stream, "It runs up to the rev limiter: fuel is cut at %.0f rpm and comes back at %.0f.\n", first_rpm, second_rpm);
    break;
  case SETTLE_UNCONTROLLED:
    fprintf(stream,
            "It runs at %.0f rpm, and nothing controls its idle: the computer believes that the pedal is pressed. What idle "
            "control would add stays at its last value.\n",
            v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_NOT_SETTLED:
    fprintf(stream, "Not settled: %s.\n", point->reason);
    break;
  case SETTLE_OUTCOME_COUNT:
    break;
  }
  if (point->limp == COMPUTER_LIMP_REDUCED) fprintf(stream, "Limp-home is in force: reduced power.\n");
  if (point->outcome == SETTLE_CUTS || point->outcome == SETTLE_LIMITED) return; // the branches are told
  for (size_t i = 1; i < point->branch_count; i++)
    fprintf(stream, "It could also settle at %.0f rpm.\n", point->branch_rad_s[i] / UNITS_RAD_S_PER_RPM);
}

/* ---- Readings in groups ---- */

/* When a channel has a row without --all. */
enum shown { ALWAYS, IF_ANY, IN_ALL, NEVER };

/* Heading of the group, channel, when. Unsteadiness is nothing at a settled point, and of stored codes it knows nothing: those that
 * would set are told apart. */
static const struct row {
  const char *group;
  enum channel channel;
  enum shown shown;
} rows[] = {
    {"Speed and air", CHANNEL_speed_rpm, ALWAYS},
    {"Speed and air", CHANNEL_target_rpm, ALWAYS},
    {"Speed and air", CHANNEL_airflow_gps, ALWAYS},
    {"Speed and air", CHANNEL_unmetered_gps, IF_ANY},
    {"Speed and air", CHANNEL_manifold_kpa, ALWAYS},
    {"Speed and air", CHANNEL_load_pct, IN_ALL},
    {"Speed and air", CHANNEL_torque_nm, IN_ALL},
    {"Speed and air", CHANNEL_residual_pct, IN_ALL},
    {"What idle control does", CHANNEL_learned_pct, ALWAYS},
    {"What idle control does", CHANNEL_effort_pct, ALWAYS},
    {"What idle control does", CHANNEL_bypass_steps, ALWAYS},
    {"What idle control does", CHANNEL_spark_deg, ALWAYS},
    {"What idle control does", CHANNEL_spark_reserve_pct, ALWAYS},
    {"What idle control does", CHANNEL_command_deg, IN_ALL},
    {"Throttle and film", CHANNEL_blade_deg, ALWAYS},
    {"Throttle and film", CHANNEL_blade_pct, IN_ALL},
    {"Throttle and film", CHANNEL_tp_pct, ALWAYS},
    {"Throttle and film", CHANNEL_area_mm2, ALWAYS},
    {"Throttle and film", CHANNEL_clean_area_mm2, ALWAYS},
    {"Throttle and film", CHANNEL_closed_gap_mm2, IN_ALL},
    {"Throttle and film", CHANNEL_film_um, IF_ANY},
    {"Throttle and film", CHANNEL_edge_film_um, IF_ANY},
    {"Throttle and film", CHANNEL_bypass_film_um, IF_ANY},
    {"Throttle and film", CHANNEL_leak_mm2, IF_ANY},
    {"Mixture", CHANNEL_lambda, ALWAYS},
    {"Mixture", CHANNEL_stft_pct, ALWAYS},
    {"Mixture", CHANNEL_ltft_pct, ALWAYS},
    {"Mixture", CHANNEL_lambda2, IN_ALL},
    {"Mixture", CHANNEL_stft2_pct, IF_ANY},
    {"Mixture", CHANNEL_ltft2_pct, IF_ANY},
    {"Sensors and signals", CHANNEL_maf_gps, IN_ALL},
    {"Sensors and signals", CHANNEL_maf_v, IN_ALL},
    {"Sensors and signals", CHANNEL_map_kpa, IN_ALL},
    {"Sensors and signals", CHANNEL_charge_kpa, IN_ALL},
    {"Sensors and signals", CHANNEL_coolant_c, IN_ALL},
    {"Sensors and signals", CHANNEL_intake_c, IN_ALL},
    {"Sensors and signals", CHANNEL_oil_c, IN_ALL},
    {"Sensors and signals", CHANNEL_battery_v, IN_ALL},
    {"Sensors and signals", CHANNEL_tps1_v, IN_ALL},
    {"Sensors and signals", CHANNEL_tps2_v, IN_ALL},
    {"Sensors and signals", CHANNEL_app1_v, IN_ALL},
    {"Sensors and signals", CHANNEL_app2_v, IN_ALL},
    {"Throttle drive", CHANNEL_motor_supply_v, IN_ALL},
    {"Throttle drive", CHANNEL_duty_pct, IN_ALL},
    {"Throttle drive", CHANNEL_motor_v, IN_ALL},
    {"Throttle drive", CHANNEL_motor_a, IN_ALL},
    {"Driver and loads", CHANNEL_pedal_pct, IF_ANY},
    {"Driver and loads", CHANNEL_air_conditioning, IF_ANY},
    {"Driver and loads", CHANNEL_drive, IF_ANY},
    {"", CHANNEL_time_s, NEVER},
    {"", CHANNEL_speed_sd_rpm, NEVER},
    {"", CHANNEL_codes_pending, NEVER},
    {"", CHANNEL_codes_confirmed, NEVER},
};
_Static_assert(ARRAY_COUNT(rows) == CHANNEL_COUNT, "every channel has a row");

/* Decimals that a person reads: those of the CSV, three at most. */
static int decimals_of(enum channel channel) { return channel_rows[channel].decimals < 3 ? channel_rows[channel].decimals : 3; }

/* As printed: what rounds to nothing has no sign. */
static double unsigned_zero(double value, int decimals) { return fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value; }

static bool is_shown(const struct settle_report *report, const struct row *row) {
  const double value = report->point->values[row->channel];
  if (isnan(value) || row->shown == NEVER) return false;
  if (report->all || row->shown == ALWAYS) return true;
  return row->shown == IF_ANY && unsigned_zero(value, decimals_of(row->channel)) != 0.0;
}

static void add_row(struct text_table *table, const struct settle_report *report, enum channel channel) {
  const struct us_unit *unit = report->us ? us_unit_of_own(channel_rows[channel].name) : NULL;
  char name[64];
  int decimals = decimals_of(channel);
  double value = report->point->values[channel];
  snprintf(name, sizeof name, "%s", channel_rows[channel].name);
  if (unit) {
    us_unit_us_name(unit, channel_rows[channel].name, sizeof name, name);
    value = us_unit_from_own(unit, value, false);
    decimals = decimals < 2 ? decimals : 2;
  }
  text_table_add(table, "%s", name);
  text_table_add(table, "%.*f", decimals, unsigned_zero(value, decimals));
  text_table_add(table, "%s", channel_rows[channel].view == CHANNEL_TRUTH ? "no instrument" : "instrument");
  text_table_add(table, "%s", channel_rows[channel].text);
}

static enum status print_group(const struct settle_report *report, const char *group, FILE *stream, struct error *error) {
  struct text_table table;
  const char *headings[] = {group, "value", "seen by", "what it is"};
  size_t count = 0;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    if (strcmp(rows[i].group, group) != 0 || !is_shown(report, &rows[i])) continue;
    add_row(&table, report, rows[i].channel);
    count++;
  }
  if (count) fputc('\n', stream);
  const int failed = count ? text_table_print(&table, stream, 2) : 0;
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table") : STATUS_OK;
}

enum status settle_report_print(const struct settle_report *report, FILE *stream, struct error *error) {
  const struct settle_point *point = report->point;
  fprintf(stream, "%s\n", report->engine->title);
  print_outcome(report, stream);
  if (point->codes) fprintf(stream, "\nCodes that would set if this lasted\n");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (point->codes >> i & 1u) fprintf(stream, "  %s  %s\n", monitor_rows[i].code, monitor_rows[i].text);
  if (point->outcome == SETTLE_NOT_SETTLED) return STATUS_OK;            // no values
  if (point->outcome == SETTLE_STALLS && !report->all) return STATUS_OK; // those of an engine that stands
  if (point->outcome == SETTLE_STALLS) fprintf(stream, "\nReadings of the engine standing still\n");
  enum status status = STATUS_OK;
  for (size_t i = 0; i < ARRAY_COUNT(rows) && status == STATUS_OK; i++)
    if (i == 0 || strcmp(rows[i].group, rows[i - 1].group) != 0) status = print_group(report, rows[i].group, stream, error);
  if (!report->all) fprintf(stream, "\nMore readings: --all\n");
  return status;
}

static void put_stall(const struct settle_report *report, struct json *json) {
  json_open_object(json, "stall");
  if (report->point->short_nm > 0.0) json_put_real(json, "short_nm", report->point->short_nm, 3);
  json_open_array(json, "without");
  for (size_t i = 0; i < report->without_count; i++) {
    const struct settle_report_without *one = &report->without[i];
    const struct field *field = &condition_rows[one->condition].field;
    json_open_object(json, NULL);
    json_put_text(json, "condition", field->key);
    json_put_real(json, "value", field_from_si(field, one->value), 6);
    json_put_text(json, "outcome", settle_outcome_names[one->outcome]);
    json_put_real(json, "speed_rpm", one->speed_rpm, 2);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

void settle_report_put_json(const struct settle_report *report, struct json *json) {
  const struct settle_point *point = report->point;
  json_put_text(json, "outcome", settle_outcome_names[point->outcome]);
  if (point->reason) json_put_text(json, "reason", point->reason);
  json_put_text(json, "limp_home", computer_limp_names[point->limp]);
  for (int i = 1; i < CHANNEL_COUNT; i++)
    json_put_real(json, channel_rows[i].name, point->values[i], channel_rows[i].decimals + 3);
  json_open_array(json, "branches_rpm");
  for (size_t i = 0; i < point->branch_count; i++) json_put_real(json, NULL, point->branch_rad_s[i] / UNITS_RAD_S_PER_RPM, 4);
  json_close(json);
  json_open_array(json, "codes");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (point->codes >> i & 1u) json_put_text(json, NULL, monitor_rows[i].code);
  json_close(json);
  if (point->outcome == SETTLE_STALLS) put_stall(report, json);
}
