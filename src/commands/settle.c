/* `bladegap settle ENGINE`: the settled operating point. */
#include "analysis/settle/settle.h"
#include "base/attributes.h"
#include "car/engine_check.h"
#include "commands/command.h"
#include "commands/engine_any.h"
#include "commands/engine_options.h"
#include "commands/units_option.h"
#include "commands/what_if.h"
#include "io/format/json.h"
#include "io/report/settle_report.h"

#include <stdio.h>

static const struct option_row settle_options[] = {
    OPTION_ROW_TEXTS("set", "NAME=VALUE", "a condition (film_um=40) or an engine parameter (idle_air.learned_most_pct=20)"),
    ENGINE_OPTIONS_SCALE_ROW,
    OPTION_ROW_REAL("stale-learned", "PCT", -100, 200,
                    "keep the learned offset at this value, as after a clean; otherwise it is what long use brings"),
    OPTION_ROW_FLAG("engine-off", "key on, engine standing"),
    OPTION_ROW_FLAG("all", "every channel, not only the most important ones"),
    UNITS_OPTION_ROW,
};

/* Conditions that are set to something else than at the start of every run. */
static bool is_set(const struct conditions *conditions, const struct conditions *usual, const struct field *field) {
  const double value = conditions_value(conditions, field), other = conditions_value(usual, field);
  return value < other || value > other;
}

/* Of a stall: what each condition that is set has to do with it, by taking it away. */
static void try_without(struct settle *settle, const struct settle_query *query, struct settle_report *report) {
  struct conditions usual;
  conditions_init(&usual);
  for (size_t i = 0; i < condition_count && report->without_count < SETTLE_REPORT_WITHOUT_MAX; i++) {
    const struct field *field = &condition_rows[i].field;
    if (!is_set(&query->conditions, &usual, field)) continue;
    struct settle_query other = *query;
    struct settle_point point;
    conditions_set(&other.conditions, field, conditions_value(&usual, field));
    settle_solve(settle, &other, &point);
    report->without[report->without_count++] =
        (struct settle_report_without){i, conditions_value(&query->conditions, field), point.outcome,
                                       point.values[CHANNEL_speed_rpm], point.values[CHANNEL_target_rpm]};
  }
}

static enum status print(const struct settle_report *report, const struct what_if *notes, bool as_json, struct error *error) {
  if (!as_json) {
    what_if_print(notes, stdout);
    return settle_report_print(report, stdout, error);
  }
  struct json *json = json_create();
  settle_report_put_json(report, json);
  if (notes->count) what_if_put_json(notes, json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct engine engine;
  struct settle_query query;
  settle_query_init(&query);
  query.all_balances = true;
  enum status status = engine_any_read(line->operands[0], &engine, error);
  if (status == STATUS_OK) status = engine_options_apply(line, &engine, &query.conditions, error);
  if (status == STATUS_OK) status = engine_check(&engine, error);
  if (status == STATUS_OK) status = what_if_check_sets(line, &engine, error);
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
  struct what_if notes = {0};
  what_if_note_idle(&notes, &engine, &query.conditions);
  settle_solve(settle, &query, &point);
  struct settle_report report = {.engine = &engine,
                                 .point = &point,
                                 .all = options_given(line, "all") > 0,
                                 .us = units_option_us(line),
                                 .target_rpm = point.values[CHANNEL_target_rpm]};
  if (point.outcome == SETTLE_STALLS) try_without(settle, &query, &report);
  settle_destroy(settle);
  return line->quiet && !line->json ? STATUS_OK : print(&report, &notes, line->json, error);
}

const struct command command_settle = {
    .name = "settle",
    .text = "the settled operating point of an engine, immediately",
    .operands = "ENGINE",
    .operand_least = 1,
    .operand_most = 1,
    .options = settle_options,
    .option_count = ARRAY_COUNT(settle_options),
    .run = run,
    .details =
        "The state that a long run would reach, from the same equations, without waiting for it: idling, drooping, racing, held "
        "at a speed, in limp-home, at the rev limiter, or stalled; for a stall also what is missing and which of the settings "
        "causes it. If there is no such point, the program says why.\n\n  bladegap settle models/four-16.cfg --set film_um=60\n  "
        "bladegap settle four-16 --set film_um=60 --all --units us\n  bladegap settle four-16 --scale friction.constant_bar=1.1 "
        "--scale discharge_by_opening_deg=0.95\n  bladegap settle models/four-16.cfg --set film_um=0 --stale-learned 36\n  "
        "bladegap settle models/four-16.cfg --set hold_rpm=2500 --set leak_mm2=4",
};
