/* The ways gas takes into the manifold, one row each. */
#ifndef PLANT_PATHS_H
#define PLANT_PATHS_H

/* Where a path begins: behind the air-flow sensor, in the open, or in the exhaust. */
enum plant_node { PLANT_NODE_DUCT, PLANT_NODE_AMBIENT, PLANT_NODE_EXHAUST };

/* PATH(name, node, text). What begins in the duct has passed the air-flow sensor. */
// clang-format off
#define PLANT_PATH_LIST(PATH)                                                                                 \
  PATH(blade, DUCT, "past the throttle blade")                                                                \
  PATH(bypass, DUCT, "through the idle bypass valve")                                                         \
  PATH(ventilation, DUCT, "crankcase ventilation, fresh air from behind the sensor")                          \
  PATH(leak, AMBIENT, "vacuum leak behind the blade")                                                         \
  PATH(booster, AMBIENT, "brake booster leak")                                                                \
  PATH(purge, AMBIENT, "canister purge: air with fuel vapour")                                                \
  PATH(recirculation, EXHAUST, "exhaust-gas recirculation")
// clang-format on

enum plant_path {
#define PATH(name, node, text) PLANT_PATH_##name,
  PLANT_PATH_LIST(PATH)
#undef PATH
      PLANT_PATH_COUNT
};

struct plant_path_row {
  const char *name;
  enum plant_node node;
  const char *text;
};
extern const struct plant_path_row plant_path_rows[PLANT_PATH_COUNT];

#endif
