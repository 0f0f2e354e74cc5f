/* What settle.c balances: the engine at a given speed, everything else at rest. It only puts together what each part does at rest
 * (`_rest` beside every `_tick` and `_rates`). */
#ifndef ANALYSIS_SETTLE_SETTLE_BALANCE_H
#define ANALYSIS_SETTLE_SETTLE_BALANCE_H

#include "analysis/settle/settle_query.h"
#include "sim/channels.h"
#include "sim/vehicle.h"

#define SETTLE_TORQUE_NM    1e-9 // of some 25 N m; moves speed by less than 1e-6 rpm
#define SETTLE_SPEED_RAD_S  1e-9
#define SETTLE_EFFORT_RATIO 1e-12
#define SETTLE_PEDAL_RATIO  1e-12

struct settle {
  struct vehicle vehicle; // set to rest
  struct computer_sensors sensors;
  struct plant_signals signals;
  double long_trim[PLANT_BANK_MAX]; // where none is learned: the query's
  double kept_ratio;                // learned offset where it stays what it was; NaN where it is learned
  double stop_kept_ratio;           // share of a shifted track that is not learned as the stop
  double placed_for_ratio;     // what blade or bypass valve stand for: see settle_balance_idle_nm(); NaN if for something else
  double stood_rad;            // blade, before it moved to where it rests now
  bool all_balances;           // the query's
  bool foot_placed;            // a cable's blade stands where the foot has it
  struct circuit_faults sound; // nothing wrong
};

/* Takes conditions, and the query's for the rest; coolant and oil at their temperatures. The computer is sound. */
void settle_balance_begin(struct settle *s, const struct settle_query *query, const struct conditions *conditions,
                          double coolant_k);

/* Goes on from here under other conditions of the same coolant and oil: what the computer has learned of its closed stop is theirs. */
void settle_balance_change(struct settle *s, const struct conditions *conditions);

/* A limit of what may be added, moved to where the bypass valve stands on the whole step that it rests on there; the same with an
 * electronic throttle. */
double settle_balance_whole_step_ratio(struct settle *s, double added_ratio);

/* Blade and bypass valve where they come to rest under the computer's orders and the pedal of now. */
void settle_balance_place(struct settle *s);

/* Net torque, N m, at this speed, blade and bypass valve where they are. */
double settle_balance_nm(struct settle *s, double speed_rad_s);

/* The same, idling, with so much added to the feed-forward air (effort and learned, share of base). */
double settle_balance_idle_nm(struct settle *s, double speed_rad_s, double added_ratio);

/* The same with this much pedal on top of the idle opening last set. */
double settle_balance_pedal_nm(struct settle *s, double speed_rad_s, double pedal_ratio);

/* Key on, engine standing. */
void settle_balance_stand(struct settle *s);

/* What supervision does about the engine as it stands; what its monitors see, and bits of codes that set. */
enum monitor_effect settle_balance_supervise(struct settle *s, struct monitor_measures *measures, uint64_t *codes);

double settle_balance_coolant_rate_k_s(const struct settle *s);

void settle_balance_sample(struct settle *s, double values[CHANNEL_COUNT]);

/* The idle air asked for stays what idling left it at, whatever else passes air now: the purge may have shut. */
void settle_balance_keep_idle_air(struct settle *s);

#endif
