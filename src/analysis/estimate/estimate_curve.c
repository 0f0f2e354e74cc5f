#include "analysis/estimate/estimate_curve.h"

#include <math.h>
#include <stdio.h>

/* How far apart the position at idle may be in the log and in the readings of one car: two steps of 8 bits, a load more or less and what days
 * differ by; our own choice. */
#define SAME_IDLE_PCT 1.5

/* Position at idle in the readings where the log idles elsewhere; NAN where it is the same, or not known. */
static double idles_elsewhere_pct(const struct opening_curve *curve, const struct estimate_readings_input *input) {
  const struct estimate_reading *read = estimate_readings_find(&input->given, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_idle);
  const bool elsewhere =
      read && curve->points.has_idle && fabs(read->value - 100.0 * curve->points.idle.position_ratio) > SAME_IDLE_PCT;
  return elsewhere ? read->value : NAN;
}

/* Why nothing is told, the end of a sentence. */
static void why_not(const struct opening_curve *curve, const struct estimate_curve *taken, char *text, size_t size) {
  const struct opening_lost *lost = &taken->lost;
  if (!curve->has_baseline) {
    snprintf(text, size, "there is no log of the same car clean to hold it against (--curve-baseline)");
    return;
  }
  switch (lost->trouble) {
  case OPENING_LOST_NO_IDLE:
    snprintf(text, size, "the log does not idle anywhere");
    return;
  case OPENING_LOST_NO_OVERLAP:
    snprintf(text, size, "it idles at %.2f %% now, where %s does not reach", 100.0 * lost->position_ratio, taken->clean);
    return;
  case OPENING_LOST_OTHER_AIR:
    snprintf(text, size, "one log has its air from an air-flow sensor, the other from manifold pressure");
    return;
  case OPENING_LOST_OTHER_CAR:
    snprintf(text, size, "well above idle, where a film takes little, it lets in %+.0f %% against %s",
             100.0 * (lost->upper_ratio - 1.0), taken->clean);
    return;
  case OPENING_LOST_OTHER_GAIN:
    snprintf(text, size,
             "nearly the same share is missing well above idle: a sensor that reads otherwise does that, a film does not");
    return;
  case OPENING_LOST_MEASURED:
    break;
  }
  snprintf(text, size, "anything from %.0f to %.0f %% of idle air area can be lost by it", fmax(100.0 * lost->low_ratio, 0.0),
           fmax(100.0 * lost->high_ratio, 0.0));
}

static void word(const struct opening_curve *curve, double elsewhere_pct, struct estimate_curve *taken) {
  const struct opening_lost *lost = &taken->lost;
  char why[ESTIMATE_CURVE_TEXT_SIZE / 2];
  if (isfinite(elsewhere_pct)) {
    snprintf(taken->text, sizeof taken->text,
             "%.150s is left out: it idles at %.1f %% there and at %.1f %% in the readings, so the two are not of one state of "
             "one car.",
             taken->log, 100.0 * curve->points.idle.position_ratio, elsewhere_pct);
  } else if (taken->verdict == OPENING_VERDICT_lost) {
    snprintf(taken->text, sizeof taken->text,
             "%.150s against %.150s: %.0f (%.0f to %.0f) %% of all idle air area is lost at the opening where it idles now; "
             "taken as the "
             "reading area_lost_pct.",
             taken->log, taken->clean, 100.0 * lost->mean_ratio, 100.0 * lost->low_ratio, 100.0 * lost->high_ratio);
  } else if (taken->verdict == OPENING_VERDICT_none_lost) {
    snprintf(taken->text, sizeof taken->text,
             "%.150s against %.150s: no idle air area is lost that is worth a clean, %.0f %% at most; taken as the reading "
             "area_lost_pct.",
             taken->log, taken->clean, fmax(100.0 * lost->high_ratio, 0.0));
  } else {
    why_not(curve, taken, why, sizeof why);
    snprintf(taken->text, sizeof taken->text, "%.150s tells nothing of the area lost at idle and is left out: %s.", taken->log,
             why);
  }
}

enum status estimate_curve_take(const struct opening_curve *curve, const char *log, const char *clean,
                                struct estimate_readings_input *input, struct estimate_setting *setting,
                                struct estimate_curve *taken, struct error *error) {
  static const struct opening_lost none = {
      .position_ratio = NAN, .mean_ratio = NAN, .sd_ratio = NAN, .low_ratio = NAN, .high_ratio = NAN, .upper_ratio = NAN};
  *taken = (struct estimate_curve){.log = log, .clean = clean, .verdict = curve->verdict, .lost = none};
  if (curve->has_baseline) taken->lost = curve->lost;
  const double elsewhere_pct = idles_elsewhere_pct(curve, input);
  word(curve, elsewhere_pct, taken);
  const bool told = taken->verdict == OPENING_VERDICT_lost || taken->verdict == OPENING_VERDICT_none_lost;
  taken->taken = told && isnan(elsewhere_pct);
  if (!taken->taken) return STATUS_OK;
  const size_t place = input->given.count;
  const enum status status = estimate_readings_add(input, estimate_quantities[ESTIMATE_QUANTITY_area_lost_pct].name,
                                                   estimate_conditions[ESTIMATE_CONDITION_idle].name,
                                                   100.0 * taken->lost.mean_ratio, 100.0 * taken->lost.sd_ratio, error);
  if (status != STATUS_OK) return status;
  snprintf(input->places[place], ESTIMATE_READINGS_PLACE_SIZE, "--curve %.160s", log);
  setting->lost_air = curve->points.air == OPENING_AIR_FLOW ? ESTIMATE_LOST_BY_FLOW : ESTIMATE_LOST_BY_PRESSURE;
  return STATUS_OK;
}
