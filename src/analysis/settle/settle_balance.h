/* What settle.c balances: the engine at a given speed with a given air command, everything else at rest. */
#ifndef ANALYSIS_SETTLE_SETTLE_BALANCE_H
#define ANALYSIS_SETTLE_SETTLE_BALANCE_H

#include "analysis/settle/settle.h"

#define SETTLE_TORQUE_NM    1e-9 // of some 25 N m; moves speed by less than 1e-6 rpm
#define SETTLE_SPEED_RAD_S  1e-9
#define SETTLE_EFFORT_RATIO 1e-12
#define SETTLE_PEDAL_RATIO  1e-12

struct settle {
  struct vehicle vehicle;          // set to rest
  struct computer_sensors sensors; // those that speed and air do not change
  struct plant_signals signals;
  double long_trim[PLANT_BANK_MAX]; // the query's
  double placed_for_ratio; // what blade or bypass valve stand for: see settle_balance_idle_nm(); NaN if for something else
  bool springs_have_blade; // the throttle drive is without supply, or its motor interrupted
};

/* Takes the query's conditions; coolant and oil at their temperatures. */
void settle_balance_begin(struct settle *s, const struct settle_query *query, double coolant_k);

/* A limit of what may be added, moved to where the bypass valve stands on the whole step that it rests on there; the same with an
 * electronic throttle. */
double settle_balance_whole_step_ratio(struct settle *s, double added_ratio);

/* Net torque, N m, idling at this speed with so much added to the feed-forward air (effort and learned, share of base). */
double settle_balance_idle_nm(struct settle *s, double speed_rad_s, double added_ratio);

/* Net torque, N m, at this speed with this much pedal on top of the idle opening last set. */
double settle_balance_held_nm(struct settle *s, double speed_rad_s, double pedal_ratio);

/* The throttle drive moves the blade, as before it failed. */
void settle_balance_drive_works(struct settle *s);

/* From here on the computer is in limp-home with the drive off, and the springs have the blade. */
void settle_balance_limp(struct settle *s);

/* Key on, engine standing. */
void settle_balance_stand(struct settle *s);

double settle_balance_coolant_rate_k_s(const struct settle *s);

void settle_balance_sample(struct settle *s, double values[CHANNEL_COUNT]);

#endif
