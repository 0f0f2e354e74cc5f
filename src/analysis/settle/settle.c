#include "analysis/settle/settle.h"

#include "analysis/settle/settle_balance.h"
#include "base/root.h"
#include "control/idle.h"
#include "control/supervise.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ROOT_ITERATION_MAX = 80 };
enum { SCAN_COUNT = 28 }; // speeds looked at for a droop: closer than any two balances of these engines
enum { WARMTH_ITERATION_MAX = 40 };
#define RACE_MOST_RAD_S    (4500.0 * UNITS_RAD_S_PER_RPM) // no idle controller's limits race further
#define PRESSED_MOST_RAD_S (8000.0 * UNITS_RAD_S_PER_RPM) // beyond the engine files' curves
#define FIRST_PEDAL_RATIO  0.06
#define HOTTEST_K          420.0

const char *const settle_outcome_names[SETTLE_OUTCOME_COUNT] = {"idles",  "droops",      "races", "held", "stands",
                                                                "stalls", "cannot hold", "limps", "cuts"};

static void begin_engine(struct settle *s, const struct engine *engine) {
  memset(&s->vehicle, 0, sizeof s->vehicle);
  s->vehicle.engine = engine;
  computer_design_init(&s->vehicle.design, &engine->computer, engine_calibrated_on(engine));
  s->vehicle.film_bore.on_demand = true;
  film_bore_change(&s->vehicle.film_bore, &engine->plant.throttle.bore, &engine->plant.throttle.film_shape);
}

enum status settle_create(const struct engine *engine, struct settle **result, struct error *error) {
  struct settle *s = calloc(1, sizeof *s);
  if (!s) return error_set(error, STATUS_NO_MEMORY, "out of memory for settled points");
  begin_engine(s, engine);
  *result = s;
  return STATUS_OK;
}

void settle_change_car(struct settle *s, const struct engine *car) {
  const struct throttle_params *throttle = &car->plant.throttle;
  film_bore_change(&s->vehicle.film_bore, &throttle->bore, &throttle->film_shape);
  s->vehicle.engine = car;
  s->vehicle.design.params = &car->computer;
}

void settle_change_engine(struct settle *s, const struct engine *engine) {
  const struct throttle_params *throttle = &engine->plant.throttle;
  if (engine->calibrated_on || !film_bore_is_of(&s->vehicle.film_bore, &throttle->bore, &throttle->film_shape)) {
    begin_engine(s, engine);
    return;
  }
  s->vehicle.engine = engine;
  computer_design_change(&s->vehicle.design, &engine->computer, &engine->plant);
}

void settle_destroy(struct settle *s) { free(s); }

const struct vehicle *settle_rest(const struct settle *s) { return &s->vehicle; }

void settle_query_init(struct settle_query *query) {
  *query = (struct settle_query){0};
  conditions_init(&query->conditions);
}

void settle_limits(const struct engine *engine, const struct settle_query *query, double coolant_k, double *low, double *high) {
  const struct idle_air_params *air = &engine->computer.air;
  const bool warm = coolant_k >= engine->computer.supervision.warm_k;
  *low = air->effort_least_ratio;
  *high = air->effort_most_ratio;
  if (query->learning == SETTLE_STALE || !warm) { // cold, nothing is learned
    *low += query->learned_ratio;
    *high += query->learned_ratio;
  } else {
    *low += air->learned_least_ratio;
    *high += air->learned_most_ratio;
  }
}

static void limits(const struct settle *s, const struct settle_query *query, double *low, double *high) {
  settle_limits(s->vehicle.engine, query, s->sensors.coolant_k, low, high);
}

/* Parts what the controller adds into learned offset and effort. */
static void part(struct settle *s, const struct settle_query *query, double added) {
  const struct idle_air_params *air = &s->vehicle.engine->computer.air;
  const bool warm = s->sensors.coolant_k >= s->vehicle.engine->computer.supervision.warm_k;
  double learned = query->learned_ratio;
  if (query->learning == SETTLE_LEARNED && warm) learned = fmin(fmax(added, air->learned_least_ratio), air->learned_most_ratio);
  s->vehicle.computer.memory.learned_ratio = learned;
  s->vehicle.computer.effort_ratio = added - learned;
  s->vehicle.computer.integral_ratio = s->vehicle.computer.effort_ratio;
}

/* Net torque as a function of one unknown, for the root finder. */
struct unknown {
  struct settle *s;
  double (*net_nm)(struct settle *s, double unknown, double given);
  double given;
};

static double net_by_effort(struct settle *s, double added, double speed) { return settle_balance_idle_nm(s, speed, added); }
static double net_by_speed(struct settle *s, double speed, double added) { return settle_balance_idle_nm(s, speed, added); }
static double net_by_pedal(struct settle *s, double pedal, double speed) { return settle_balance_held_nm(s, speed, pedal); }
static double net_pressed(struct settle *s, double speed, double pedal) { return settle_balance_held_nm(s, speed, pedal); }

static double unknown_net_nm(double x, void *user) {
  const struct unknown *u = user;
  return u->net_nm(u->s, x, u->given);
}

/* Where net torque is nothing between two ends of opposite sign. */
static double root(struct unknown *u, double a, double fa, double b, double fb, double tolerance) {
  const struct root_limits limits = {tolerance, SETTLE_TORQUE_NM, ROOT_ITERATION_MAX};
  return root_between(unknown_net_nm, u, a, fa, b, fb, &limits);
}

/* All speeds between two at which torque balances and more speed means less torque; the one nearest to `from` first. */
static size_t balances(struct unknown *by_speed, double from, double to, double *found) {
  size_t count = 0;
  double last = from, last_net = by_speed->net_nm(by_speed->s, from, by_speed->given);
  for (int i = 1; i <= SCAN_COUNT && count < SETTLE_BRANCH_MAX; i++) {
    const double speed = from + (to - from) * i / SCAN_COUNT;
    const double net = by_speed->net_nm(by_speed->s, speed, by_speed->given);
    const bool stable = to < from ? last_net < 0.0 && net >= 0.0 : last_net > 0.0 && net <= 0.0;
    if (stable) found[count++] = root(by_speed, last, last_net, speed, net, SETTLE_SPEED_RAD_S);
    last = speed;
    last_net = net;
  }
  return count;
}

static void solve_idle(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const double target = idle_target_rad_s(&s->vehicle.design, &s->sensors);
  s->vehicle.computer.target_rad_s = target;
  double low, high;
  limits(s, query, &low, &high);
  // at a limit a bypass valve stands on a whole step; between them it swings from one to the next, so that its mean is any part
  const double least = settle_balance_whole_step_ratio(s, low), most = settle_balance_whole_step_ratio(s, high);
  const double net_most = settle_balance_idle_nm(s, target, most), net_least = settle_balance_idle_nm(s, target, least);
  double speed = target, added = most, told = high; // told: what the computer believes to add
  point->branch_count = 1;
  if (net_most < 0.0) {
    point->outcome = SETTLE_DROOPS;
    const double stall = s->vehicle.engine->plant.crank.stall_speed_rad_s;
    struct unknown by_speed = {s, net_by_speed, most};
    point->branch_count = balances(&by_speed, target, stall, point->branch_rad_s);
    speed = point->branch_rad_s[0];
  } else if (net_least > 0.0) {
    point->outcome = SETTLE_RACES;
    added = least;
    told = low;
    struct unknown by_speed = {s, net_by_speed, least};
    point->branch_count = balances(&by_speed, target, RACE_MOST_RAD_S, point->branch_rad_s);
    speed = point->branch_rad_s[0];
  } else {
    point->outcome = SETTLE_IDLES;
    struct unknown by_effort = {s, net_by_effort, target};
    added = root(&by_effort, least, net_least, most, net_most, SETTLE_EFFORT_RATIO);
    told = fmin(fmax(added, low), high);
    point->branch_rad_s[0] = target;
  }
  if (point->branch_count == 0) {
    point->outcome = SETTLE_STALLS;
    return;
  }
  settle_balance_idle_nm(s, speed, added);
  part(s, query, told);
}

/* Before the pedal was pressed it idled: the idle part of the opening stays what idling left it at. */
static void solve_idle_before(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  struct settle_query idle = *query;
  idle.conditions.hold_speed_rad_s = 0.0;
  idle.conditions.pedal_ratio = s->vehicle.pedal_ratio = 0.0;
  solve_idle(s, &idle, point);
  if (point->outcome == SETTLE_STALLS) { // it does not idle, but the pedal may keep it running
    double low, high;
    limits(s, query, &low, &high);
    part(s, query, high);
  }
}

/* With the pedal where it is: the lowest speed at which torque balances. */
static void solve_pressed(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const double stall = s->vehicle.engine->plant.crank.stall_speed_rad_s, pedal = query->conditions.pedal_ratio;
  solve_idle_before(s, query, point);
  struct unknown by_speed = {s, net_pressed, pedal};
  point->branch_count = balances(&by_speed, stall, PRESSED_MOST_RAD_S, point->branch_rad_s);
  const bool runs = point->branch_count > 0;
  point->outcome = runs ? SETTLE_HELD : SETTLE_STALLS;
  if (runs) settle_balance_held_nm(s, point->branch_rad_s[0], pedal);
}

static void solve_held(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  const double speed = query->conditions.hold_speed_rad_s;
  solve_idle_before(s, query, point);
  double less = 0.0, more = FIRST_PEDAL_RATIO; // little pedal holds most speeds: the bracket grows from there
  double net_less = settle_balance_held_nm(s, speed, less), net_more = settle_balance_held_nm(s, speed, more);
  while (net_less * net_more >= 0.0 && more < 1.0) {
    less = more;
    net_less = net_more;
    more = fmin(2.0 * more, 1.0);
    net_more = settle_balance_held_nm(s, speed, more);
  }
  struct unknown by_pedal = {s, net_by_pedal, speed};
  point->branch_count = 1;
  point->branch_rad_s[0] = speed;
  point->outcome = net_less * net_more < 0.0 ? SETTLE_HELD : SETTLE_CANNOT_HOLD;
  if (point->outcome == SETTLE_HELD)
    settle_balance_held_nm(s, speed, root(&by_pedal, less, net_less, more, net_more, SETTLE_PEDAL_RATIO));
}

/* Limp-home begins from idling; without drive the pedal opens nothing. The speed goes up or down from the target to where torque
 * balances. */
static void solve_limp(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  settle_balance_drive_works(s);
  solve_idle_before(s, query, point);
  settle_balance_limp(s);
  const double pedal = query->conditions.hold_speed_rad_s > 0.0 ? 1.0 : query->conditions.pedal_ratio;
  const double target = s->vehicle.computer.target_rad_s, stall = s->vehicle.engine->plant.crank.stall_speed_rad_s;
  struct unknown by_speed = {s, net_pressed, pedal};
  const bool rises = settle_balance_held_nm(s, target, pedal) > 0.0;
  point->branch_count = balances(&by_speed, target, rises ? SUPERVISE_LIMP_SPEED_RAD_S : stall, point->branch_rad_s);
  point->outcome = SETTLE_LIMPS;
  if (point->branch_count == 0 && rises) {
    point->outcome = SETTLE_CUTS;
    point->branch_count = 2;
    point->branch_rad_s[0] = SUPERVISE_LIMP_SPEED_RAD_S;
    point->branch_rad_s[1] = SUPERVISE_LIMP_RESUME_RAD_S;
  } else if (point->branch_count == 0) {
    point->outcome = SETTLE_STALLS;
    return;
  }
  settle_balance_held_nm(s, point->branch_rad_s[0], pedal);
}

/* So far off its command the blade counts as stuck, and the drive is given up. */
static bool seems_stuck(const struct settle *s) {
  const double off = s->vehicle.computer.blade_command_rad - s->vehicle.computer.blade_seen_rad;
  return off > monitor_rows[MONITOR_P2112].threshold || -off > monitor_rows[MONITOR_P2111].threshold;
}

/* Codes that a point like this sets once it has lasted. */
static unsigned idle_codes(const struct settle *s, const struct settle_point *point) {
  if (point->outcome != SETTLE_IDLES && point->outcome != SETTLE_DROOPS && point->outcome != SETTLE_RACES) return 0;
  if (s->sensors.coolant_k < s->vehicle.engine->computer.supervision.warm_k) return 0;
  const double off = s->vehicle.computer.target_rad_s - s->vehicle.state.crank_speed_rad_s;
  unsigned codes = 0;
  if (off > monitor_rows[MONITOR_P0506].threshold) codes |= 1u << MONITOR_P0506;
  if (-off > monitor_rows[MONITOR_P0507].threshold) codes |= 1u << MONITOR_P0507;
  if (idle_at_limit(&s->vehicle.design, &s->vehicle.computer) && fabs(off) > monitor_rows[MONITOR_P0505].threshold)
    codes |= 1u << MONITOR_P0505;
  const double trims[2] = {s->vehicle.computer.short_trim[0] + s->vehicle.computer.memory.long_trim[0][s->vehicle.computer.cell],
                           s->vehicle.computer.short_trim[1] + s->vehicle.computer.memory.long_trim[1][s->vehicle.computer.cell]};
  if (trims[0] > monitor_rows[MONITOR_P0171].threshold) codes |= 1u << MONITOR_P0171;
  if (-trims[0] > monitor_rows[MONITOR_P0172].threshold) codes |= 1u << MONITOR_P0172;
  if (s->vehicle.engine->plant.charge.bank_count == 2 && trims[1] > monitor_rows[MONITOR_P0174].threshold)
    codes |= 1u << MONITOR_P0174;
  return codes;
}

static void solve_at_warmth(struct settle *s, const struct settle_query *query, double coolant_k, struct settle_point *point) {
  settle_balance_begin(s, query, coolant_k);
  if (query->engine_off) {
    point->outcome = SETTLE_STANDS;
    point->branch_count = 1;
    point->branch_rad_s[0] = 0.0;
    settle_balance_stand(s);
    return;
  }
  const bool held = query->conditions.hold_speed_rad_s > 0.0;
  const bool pressed = query->conditions.pedal_ratio > s->vehicle.engine->computer.pedal.closed_ratio;
  if (s->springs_have_blade && (query->conditions.faults.motor_open > 0.5 || held || pressed)) {
    solve_limp(s, query, point);
  } else if (held) {
    solve_held(s, query, point);
  } else if (pressed) {
    solve_pressed(s, query, point);
  } else {
    solve_idle(s, query, point);
    if (s->springs_have_blade && seems_stuck(s)) solve_limp(s, query, point);
  }
}

/* Coolant where what warms it equals what cools it; the oil follows. */
static void solve_warmth(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  double low = query->conditions.intake_k, high = HOTTEST_K;
  for (int i = 0; i < WARMTH_ITERATION_MAX && high - low > 1e-4; i++) {
    const double middle = 0.5 * (low + high);
    solve_at_warmth(s, query, middle, point);
    if (point->outcome == SETTLE_STALLS) return;
    if (settle_balance_coolant_rate_k_s(s) > 0.0)
      low = middle;
    else
      high = middle;
  }
}

void settle_solve(struct settle *s, const struct settle_query *query, struct settle_point *point) {
  memset(point, 0, sizeof *point);
  if (query->conditions.warmth_held > 0.5 || query->engine_off)
    solve_at_warmth(s, query, query->conditions.coolant_k, point);
  else
    solve_warmth(s, query, point);
  if (point->outcome == SETTLE_STALLS) settle_balance_stand(s);
  settle_balance_sample(s, point->values);
  point->codes = idle_codes(s, point);
}
