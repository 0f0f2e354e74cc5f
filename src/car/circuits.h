/* Sensor circuits as a voltmeter sees them: position tracks of blade and pedal, and the air-flow sensor's signal.
 *
 *   track       V = supply ( g + (1 - g) share )          share: closed .. open of the engine file; g = R_ground / (R_track + R_ground)
 *   worn spot   V falls by its depth over a degree or so round one place
 *   air flow    V = sqrt(1 + B sqrt(m))                   King's law of the hot wire: V^2 = A + B m^n, n = 1/2; B for 4.5 V at 150 g/s
 *
 * The tracks are ratiometric: computer and sensor share the supply. King's law: any textbook on hot-wire anemometry. */
#ifndef CAR_CIRCUITS_H
#define CAR_CIRCUITS_H

#include "plant/plant_params.h"

#include <stdbool.h>

enum circuit { CIRCUIT_TRACK1, CIRCUIT_TRACK2, CIRCUIT_PEDAL1, CIRCUIT_PEDAL2, CIRCUIT_COUNT };

/* What is wrong with one potentiometer track. */
struct circuit_fault {
  double offset_v;
  double gain_ratio;
  double open;                                 // signal wire broken: 1, else 0; the computer's resistor pulls it to ground
  double shorted_to_ground, shorted_to_supply; // 1, else 0
  double worn_v;                               // depth of a worn spot
};

struct circuit_faults {
  struct circuit_fault track[CIRCUIT_COUNT];
  double worn_at_rad;                                  // opening of the blade where its tracks are worn
  double worn_pedal_ratio;                             // travel where the pedal's are
  double supply_v;                                     // of the sensors; 5
  double ground_ohm;                                   // in the blade sensor's ground
  double supply_swapped;                               // blade sensor's supply and ground the wrong way round: 1, else 0
  double air_flow_open, air_flow_shorted;              // air-flow signal: 1, else 0
  double bypass_open, bypass_grounded, bypass_shorted; // a coil of the bypass valve, or its wire: 1, else 0
};

/* Whether the bypass valve does what it is told. */
bool circuits_bypass_moves(const struct circuit_faults *faults);

/* Signal of a track, V. opening_rad: of the blade above closed; pedal_ratio: travel. */
double circuits_track_v(const struct throttle_params *throttle, const struct circuit_faults *faults, enum circuit circuit,
                        double opening_rad, double pedal_ratio);

/* False if a worn spot makes a blade track read less the further the blade opens: the same reading then stands for several angles. */
bool circuits_blade_smooth(const struct circuit_faults *faults);

/* True where a blade track is worn at this opening. */
bool circuits_blade_worn(const struct circuit_faults *faults, enum circuit track, double opening_rad);

/* Signal of the air-flow sensor for what it means to read, V; and what the computer reads from a signal. */
double circuits_air_flow_v(const struct circuit_faults *faults, double flow_kg_s);

#endif
