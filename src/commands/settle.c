/* `bladegap settle ENGINE`: the settled operating point. */
#include "analysis/settle/settle.h"
#include "base/attributes.h"
#include "car/engine_check.h"
#include "car/setting.h"
#include "commands/command.h"
#include "io/config/engine_file.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdio.h>

static const struct option_row settle_options[] = {
    OPTION_ROW_TEXTS("set", "NAME=VALUE", "a condition (film_um=40) or an engine parameter (idle_air.learned_most_pct=20)"),
    OPTION_ROW_REAL("stale-learned", "PCT", -100, 200,
                    "keep the learned offset at this value, as after a clean; else it is what long use brings"),
    OPTION_ROW_FLAG("engine-off", "key on, engine standing"),
};

/* Outcome in words. */
static void print_outcome(const struct settle_point *point) {
  const double *v = point->values;
  switch (point->outcome) {
  case SETTLE_IDLES:
    printf("It idles at its target of %.0f rpm.\n", v[CHANNEL_target_rpm]);
    break;
  case SETTLE_DROOPS:
    printf("It droops: %.0f rpm, %.0f below its target; controller and learned offset have nothing left.\n", v[CHANNEL_speed_rpm],
           v[CHANNEL_target_rpm] - v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_RACES:
    printf("It races: %.0f rpm, %.0f above its target; the controller cannot take more air away.\n", v[CHANNEL_speed_rpm],
           v[CHANNEL_speed_rpm] - v[CHANNEL_target_rpm]);
    break;
  case SETTLE_HELD:
    printf("It is held at %.0f rpm with %.1f %% of pedal.\n", v[CHANNEL_speed_rpm], v[CHANNEL_pedal_pct]);
    break;
  case SETTLE_STANDS:
    printf("Key on, engine standing.\n");
    break;
  case SETTLE_STALLS:
    printf("There is no settled point: it stalls.\n");
    break;
  case SETTLE_CANNOT_HOLD:
    printf("That speed cannot be held: with as much pedal as anybody gives it runs at %.0f rpm.\n", v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_LIMPS:
    printf("It limps home at %.0f rpm: the throttle drive is off, and the springs hold the blade.\n", v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_CUTS:
    printf("It limps home, the throttle drive off, and is too fast for that: fuel is cut at %.0f rpm and comes back at %.0f.\n",
           point->branch_rad_s[0] / UNITS_RAD_S_PER_RPM, point->branch_rad_s[1] / UNITS_RAD_S_PER_RPM);
    break;
  case SETTLE_LIMITED:
    printf("It runs up to the rev limiter: fuel is cut at %.0f rpm and comes back at %.0f.\n",
           point->branch_rad_s[0] / UNITS_RAD_S_PER_RPM, point->branch_rad_s[1] / UNITS_RAD_S_PER_RPM);
    break;
  case SETTLE_UNCONTROLLED:
    printf(
        "It runs at %.0f rpm, and nothing controls its idle: the computer takes the pedal for pressed. What idle control would "
        "add stands where it last was.\n",
        v[CHANNEL_speed_rpm]);
    break;
  case SETTLE_NOT_SETTLED:
    printf("Not settled: %s.\n", point->reason);
    break;
  case SETTLE_OUTCOME_COUNT:
    break;
  }
  if (point->limp == COMPUTER_LIMP_REDUCED) printf("Limp-home is in force: reduced power.\n");
  if (point->outcome == SETTLE_CUTS || point->outcome == SETTLE_LIMITED) return; // the branches are told
  for (size_t i = 1; i < point->branch_count; i++)
    printf("It could also settle at %.0f rpm.\n", point->branch_rad_s[i] / UNITS_RAD_S_PER_RPM);
}

/* Decimals that a person reads: those of the CSV, three at most. */
static int decimals_of(enum channel channel) { return channel_rows[channel].decimals < 3 ? channel_rows[channel].decimals : 3; }

static enum status print_point(const struct engine *engine, const struct settle_point *point, struct error *error) {
  printf("%s\n", engine->title);
  print_outcome(point);
  if (point->codes) {
    printf("Codes that would set:");
    for (int i = 0; i < MONITOR_CODE_COUNT; i++)
      if (point->codes & monitors_bit((enum monitor_code)i)) printf(" %s", monitor_rows[i].code);
    printf("\n");
  }
  if (point->outcome == SETTLE_NOT_SETTLED) return STATUS_OK; // no values
  printf("\n");
  static const char *const headings[] = {"channel", "value", "seen by", "what it is"};
  struct text_table table;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (int i = 1; i < CHANNEL_COUNT; i++) { // time says nothing here
    if (isnan(point->values[i])) continue;
    text_table_add(&table, "%s", channel_rows[i].name);
    text_table_add(&table, "%.*f", decimals_of((enum channel)i), point->values[i]);
    text_table_add(&table, "%s", channel_rows[i].view == CHANNEL_TRUTH ? "nobody" : "instrument");
    text_table_add(&table, "%s", channel_rows[i].text);
  }
  const int failed = text_table_print(&table, stdout, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the table") : STATUS_OK;
}

static enum status print_json(const struct settle_point *point, struct error *error) {
  struct json *json = json_create();
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
    if (point->codes & monitors_bit((enum monitor_code)i)) json_put_text(json, NULL, monitor_rows[i].code);
  json_close(json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct engine engine;
  struct settle_query query;
  settle_query_init(&query);
  enum status status = engine_file_read(line->operands[0], &engine, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "set"); i++)
    status = setting_apply_text("set", options_text_at(line, "set", i), &engine, &query.conditions, error);
  if (status == STATUS_OK) status = engine_check(&engine, error);
  if (status != STATUS_OK) return status;
  if (options_given(line, "stale-learned")) {
    query.learning = SETTLE_STALE;
    query.learned_ratio = options_real(line, "stale-learned", 0.0) * UNITS_RATIO_PER_PCT;
  }
  query.engine_off = options_given(line, "engine-off") > 0;
  if (query.engine_off && query.conditions.hold_speed_rad_s > 0.0)
    return error_set(error, STATUS_USAGE, "--engine-off and --set hold_rpm contradict each other: leave one out");
  struct settle *settle;
  status = settle_create(&engine, &settle, error);
  if (status != STATUS_OK) return status;
  struct settle_point point;
  settle_solve(settle, &query, &point);
  settle_destroy(settle);
  if (line->json) return print_json(&point, error);
  return line->quiet ? STATUS_OK : print_point(&engine, &point, error);
}

const struct command command_settle = {
    .name = "settle",
    .text = "the settled operating point of an engine, at once",
    .operands = "ENGINE",
    .operand_least = 1,
    .operand_most = 1,
    .options = settle_options,
    .option_count = ARRAY_COUNT(settle_options),
    .run = run,
    .details =
        "What a long run would come to, from the same equations, without waiting for it: idling, in droop, racing, held at a "
        "speed, in limp-home, at the rev limiter, or stalled; what has no such point is refused by name.\n\n"
        "  bladegap settle models/four-16.cfg --set film_um=60\n"
        "  bladegap settle models/four-16.cfg --set film_um=0 --stale-learned 36\n"
        "  bladegap settle models/four-16.cfg --set hold_rpm=2500 --set leak_mm2=4",
};
