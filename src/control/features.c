#include "control/features.h"

const char *const feature_names[FEATURE_COUNT] = {
#define FEATURE(name, text) #name,
    FEATURE_LIST(FEATURE)
#undef FEATURE
};

const char *const feature_texts[FEATURE_COUNT] = {
#define FEATURE(name, text) text,
    FEATURE_LIST(FEATURE)
#undef FEATURE
};

unsigned features_of(const struct plant_params *plant, const struct computer_params *computer) {
  unsigned bits = plant->throttle.kind == THROTTLE_ELECTRONIC ? FEATURE_electronic : FEATURE_cable;
  bits |= computer->fuel.metering == METERING_AIR_FLOW ? FEATURE_air_flow : FEATURE_pressure;
  if (plant->charger.rise_pa.count > 0) bits |= FEATURE_charger | FEATURE_manifold_sensor;
  if (bits & FEATURE_pressure) bits |= FEATURE_manifold_sensor;
  bits |= plant->throttle.open2_position_ratio > 0.0 ? FEATURE_two_tracks : FEATURE_one_track;
  bits |= plant->charge.bank_count == 2 ? FEATURE_two_banks : FEATURE_one_bank;
  if (plant->drive.gear_ratio > 0.0) bits |= FEATURE_drive;
  if (plant->loads.converter_torque_nm > 0.0) bits |= FEATURE_converter;
  if (plant->loads.compressor_torque_nm > 0.0) bits |= FEATURE_compressor;
  return bits;
}
