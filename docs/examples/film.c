/* An engine of the library at idle, a film that grows while it runs, and an estimate from readings of a car.
 *
 *   cc film.c $(pkg-config --cflags --libs bladegap) -o film && ./film */
#include <bladegap.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

static char error[BLADEGAP_ERROR_SIZE];

/* Tells what went wrong; the program's exit code. */
static int failed(void) {
  fprintf(stderr, "%s\n", error);
  return 1;
}

/* ---- What the engine comes to with so much film in its bore ---- */

static int settle(const bladegap_engine *engine) {
  double film_um, speed_rpm, airflow_gps, learned_pct;
  bladegap_point *point = bladegap_settle(engine, error, sizeof error);
  const int bad = !point || bladegap_engine_get(engine, "film_um", &film_um, error, sizeof error) ||
                  bladegap_point_value(point, "speed_rpm", &speed_rpm, error, sizeof error) ||
                  bladegap_point_value(point, "airflow_gps", &airflow_gps, error, sizeof error) ||
                  bladegap_point_value(point, "learned_pct", &learned_pct, error, sizeof error);
  if (!bad)
    printf("film %3.0f um: %s at %.0f rpm with %.2f g/s of air, %.0f %% learned\n", film_um, bladegap_point_outcome(point),
           speed_rpm, airflow_gps, learned_pct);
  bladegap_point_destroy(point);
  return bad ? failed() : 0;
}

static int idle(bladegap_engine *engine) {
  for (int film_um = 0; film_um <= 100; film_um += 50)
    if (bladegap_engine_set(engine, "film_um", film_um, error, sizeof error) || settle(engine)) return failed();
  return bladegap_engine_set(engine, "film_um", 0.0, error, sizeof error);
}

/* ---- A film that grows to 100 um within two minutes while it runs ---- */

static int grow(const bladegap_engine *engine) {
  bladegap_run *run = bladegap_run_create(engine, "settled", 1, error, sizeof error);
  int bad = !run || bladegap_run_set(run, "film_um", 100.0, 120.0, error, sizeof error);
  for (int i = 0; !bad && i < 4; i++) {
    double film_um, speed_rpm;
    bad = bladegap_run_step(run, 40 * BLADEGAP_TICKS_PER_S, error, sizeof error) ||
          bladegap_run_value(run, "film_um", &film_um, error, sizeof error) ||
          bladegap_run_value(run, "speed_rpm", &speed_rpm, error, sizeof error);
    if (!bad) printf("at %3.0f s: film %3.0f um, %.0f rpm\n", bladegap_run_time_s(run), film_um, speed_rpm);
  }
  bladegap_table *events = bad ? NULL : bladegap_run_table(run, "events", error, sizeof error);
  for (size_t row = 0; row < bladegap_table_row_count(events); row++) {
    double time_s = 0.0;
    const char *event = "";
    bad = bad || bladegap_table_number(events, row, "time_s", &time_s, error, sizeof error) ||
          bladegap_table_text(events, row, "text", &event, error, sizeof error);
    if (!bad) printf("  %5.1f s  %s\n", time_s, event);
  }
  bladegap_table_destroy(events);
  bladegap_run_destroy(run);
  return bad;
}

/* ---- From what was read on a car back to the film ---- */

static int print_causes(const bladegap_estimate *estimate) {
  bladegap_table *causes = bladegap_estimate_table(estimate, "causes", error, sizeof error);
  int bad = !causes;
  for (size_t row = 0; !bad && row < 3; row++) {
    const char *cause;
    double probability;
    bad = bladegap_table_text(causes, row, "text", &cause, error, sizeof error) ||
          bladegap_table_number(causes, row, "probability", &probability, error, sizeof error);
    if (!bad)
      printf("  %s %4.1f %%  %s\n", probability > 0.999 ? ">" : " ", probability > 0.999 ? 99.9 : 100.0 * probability, cause);
  }
  bladegap_table_destroy(causes);
  return bad;
}

static int estimate_film(const bladegap_engine *engine) {
  static const char readings[] = "name,condition,value\n"
                                 "tp_pct,key_on,10.6\n"
                                 "speed_rpm,idle,811\n"
                                 "tp_pct,idle,13.7\n"
                                 "maf_gps,idle,2.3\n"
                                 "learned_pct,idle,36\n";
  double film_um, low_um, high_um;
  bladegap_estimate *estimate = bladegap_estimate_create(engine, error, sizeof error);
  int bad = !estimate || bladegap_estimate_add_text(estimate, "readings", readings, strlen(readings), error, sizeof error) ||
            bladegap_estimate_add(estimate, "maf_gps", "hold_2500", 6.38, NAN, error, sizeof error) ||
            bladegap_estimate_compute(estimate, error, sizeof error) ||
            bladegap_estimate_value(estimate, "film_um", &film_um, error, sizeof error) ||
            bladegap_estimate_value(estimate, "film_low_um", &low_um, error, sizeof error) ||
            bladegap_estimate_value(estimate, "film_high_um", &high_um, error, sizeof error);
  if (!bad) printf("if it is a film, it is %.0f um thick (%.0f to %.0f); likeliest:\n", film_um, low_um, high_um);
  bad = bad || print_causes(estimate);
  bladegap_estimate_destroy(estimate);
  return bad;
}

int main(void) {
  bladegap_engine *engine = bladegap_engine_shipped("four-16", error, sizeof error);
  if (!engine) return failed();
  printf("bladegap %s: %s\n", bladegap_version(), bladegap_engine_title(engine));
  const int bad = idle(engine) || grow(engine) || estimate_film(engine);
  bladegap_engine_destroy(engine);
  return bad ? failed() : 0;
}
