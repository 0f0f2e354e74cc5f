#include "io/report/phases_report.h"

#include "analysis/log/log_mean.h"
#include "io/format/text.h"

#include <math.h>
#include <string.h>

/* Shown in the table, the first that the log has of each line. */
static const enum channel shown[][3] = {{CHANNEL_speed_rpm},
                                        {CHANNEL_tp_pct, CHANNEL_blade_pct},
                                        {CHANNEL_maf_gps, CHANNEL_map_kpa, CHANNEL_load_pct},
                                        {CHANNEL_coolant_c}};
enum { SHOWN = sizeof shown / sizeof shown[0] };

static int shown_channel(const struct log_phases *phases, size_t line) {
  for (size_t i = 0; i < 3; i++)
    if (shown[line][i] != CHANNEL_time_s && phases->has[shown[line][i]]) return (int)shown[line][i];
  return -1;
}

/* Decimals at which the error has its first figure. */
static int decimals(double se) { return se > 0.0 ? (int)fmin(fmax(ceil(-log10(se)), 0.0), 3.0) : 2; }

static void add_mean(struct text_table *table, const struct recording *recording, const struct log_phase *phase, int channel) {
  struct log_mean mean;
  if (channel < 0) return;
  if (phase->settled_s >= phase->to_s || !log_mean_of(recording, (enum channel)channel, phase->settled_s, phase->to_s, &mean))
    text_table_add(table, "%s", "");
  else if (mean.se > 0.0)
    text_table_add(table, "%.*f ± %.*f", decimals(mean.se), mean.mean, decimals(mean.se), mean.se);
  else
    text_table_add(table, "%.4g", mean.mean);
}

static void add_what(struct text_table *table, const struct log_phase *phase) {
  char words[160];
  int length = snprintf(words, sizeof words, "%s", log_phase_rows[phase->kind].text);
  if (phase->kind == LOG_PHASE_load_step && !phase->by_hand) {
    static const char *const causes[] = {"an unknown load,", "compressor", "gear"};
    length = snprintf(words, sizeof words, "%s %s", causes[phase->cause], phase->on ? "comes" : "goes");
    if (!isnan(phase->lowest_rpm) && !isnan(phase->before_rpm))
      length += snprintf(words + length, sizeof words - (size_t)length, ": from %.0f to %.0f rpm at the lowest",
                         phase->before_rpm, phase->lowest_rpm);
    else
      length += snprintf(words + length, sizeof words - (size_t)length, "; lowest speed not known: logged too seldom");
  }
  if (phase->kind == LOG_PHASE_idle && !phase->warm_told)
    length += snprintf(words + length, sizeof words - (size_t)length, "; whether it was warm is not known");
  if (phase->by_hand) snprintf(words + length, sizeof words - (size_t)length, " (given by hand)");
  text_table_add(table, "%s", words);
}

static void tell(FILE *stream, const char *words) { text_wrap(stream, 0, words); }

/* What these columns cannot tell. */
static void tell_untold(const struct log_phases *phases, FILE *stream) {
  static const struct {
    enum channel channel;
    const char *words;
  } rows[] = {
      {CHANNEL_speed_rpm, "No engine speed is logged: only phases given by hand can be used."},
      {CHANNEL_coolant_c, "No coolant is logged: whether an idle is warm is not known."},
      {CHANNEL_air_conditioning, "No column shows the compressor: its load is listed as one of unknown cause."},
      {CHANNEL_drive, "No column shows the gear: an idle may be one in gear."},
      {CHANNEL_pedal_pct, "No pedal is logged: idle is recognised by its speed."},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    if (phases->has[rows[i].channel]) continue;
    tell(stream, rows[i].words);
    if (rows[i].channel == CHANNEL_speed_rpm) return;
  }
  if (!phases->has[CHANNEL_maf_gps] && !phases->has[CHANNEL_map_kpa] && !phases->has[CHANNEL_manifold_kpa] &&
      !phases->has[CHANNEL_load_pct])
    tell(stream, "Neither air flow, pressure nor load is logged: a load that comes while the speed is held is not seen.");
}

enum status phases_report_text(const struct recording *recording, const struct log_phases *phases, FILE *stream,
                               struct error *error) {
  struct text_table table;
  const char *headings[TEXT_COLUMN_MAX] = {"phase", "from s", "to s"};
  size_t count = 3;
  for (size_t i = 0; i < SHOWN; i++)
    if (shown_channel(phases, i) >= 0) headings[count++] = channel_rows[shown_channel(phases, i)].name;
  headings[count++] = "what";
  text_table_init(&table, count, headings);
  for (size_t i = 0; i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    text_table_add(&table, "%s", log_phase_rows[phase->kind].name);
    text_table_add(&table, "%.1f", phase->from_s);
    text_table_add(&table, "%.1f", phase->to_s);
    for (size_t j = 0; j < SHOWN; j++) add_mean(&table, recording, phase, shown_channel(phases, j));
    add_what(&table, phase);
  }
  if (phases->count == 0) tell(stream, "No phase was found: nothing lasts long enough to be one.");
  const int failed = phases->count ? text_table_print(&table, stream, 0) : 0;
  text_table_destroy(&table);
  if (failed) return error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of a log");
  if (phases->left_out > 0) fprintf(stream, "%zu more phases are left out.\n", phases->left_out);
  tell_untold(phases, stream);
  return STATUS_OK;
}

static void put_means(const struct recording *recording, const struct log_phases *phases, const struct log_phase *phase,
                      struct json *json) {
  json_open_object(json, "means");
  for (int channel = CHANNEL_time_s + 1; channel < CHANNEL_COUNT && phase->settled_s < phase->to_s; channel++) {
    struct log_mean mean;
    if (!phases->has[channel] || !log_mean_of(recording, (enum channel)channel, phase->settled_s, phase->to_s, &mean)) continue;
    json_open_object(json, channel_rows[channel].name);
    json_put_real(json, "mean", mean.mean, 6);
    json_put_real(json, "sd", mean.sd, 6);
    json_put_real(json, "se", mean.se, 6);
    json_put_count(json, "values", (long long)mean.count);
    json_put_real(json, "effective", mean.effective_count, 1);
    json_close(json);
  }
  json_close(json);
}

void phases_report_json(const struct recording *recording, const struct log_phases *phases, struct json *json) {
  json_open_array(json, "phases");
  for (size_t i = 0; i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    json_open_object(json, NULL);
    json_put_text(json, "phase", log_phase_rows[phase->kind].name);
    json_put_real(json, "from_s", phase->from_s, 3);
    json_put_real(json, "to_s", phase->to_s, 3);
    json_put_flag(json, "by_hand", phase->by_hand);
    json_put_flag(json, "warm_told", phase->warm_told);
    if (phase->kind == LOG_PHASE_load_step) {
      json_put_text(json, "cause", log_phase_step_names[phase->cause]);
      json_put_flag(json, "comes", phase->on);
      json_put_real(json, "before_rpm", phase->before_rpm, 2);
      json_put_real(json, "lowest_rpm", phase->lowest_rpm, 2);
    } else {
      json_put_real(json, "means_from_s", phase->settled_s, 3);
      put_means(recording, phases, phase, json);
    }
    json_close(json);
  }
  json_close(json);
  json_put_count(json, "phases_left_out", (long long)phases->left_out);
}
