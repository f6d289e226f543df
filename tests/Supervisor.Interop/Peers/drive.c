#include "drive.h"

#include <math.h>
#include <string.h>

#define SWITCH_DISTANCE 4000.0 /* counts from where it wakes up */

void drive_start(struct drive *drive, const struct drive_kind *kind, uint16_t *registers)
{
    memset(drive, 0, sizeof *drive);
    drive->kind = kind;
    drive->registers = registers;
    drive->servo.torque_limit = 100;
    drive->inputs = 0x7;
    drive->home_switch = -SWITCH_DISTANCE;
    kind->start(drive);
}

void drive_advance_to(struct drive *drive, double uptime_s)
{
    while (drive->uptime_s + DRIVE_STEP_S <= uptime_s) {
        drive->uptime_s += DRIVE_STEP_S;
        drive->silent_s += DRIVE_STEP_S;
        drive->kind->advance(drive);
        servo_step(&drive->servo, DRIVE_STEP_S);
    }
}

bool drive_allows(const struct drive *drive, int first, int count, bool write)
{
    for (int i = 0; i < drive->kind->range_count; i++) {
        const struct register_range *range = &drive->kind->ranges[i];
        if (first >= range->first && first + count <= range->first + range->count) {
            return !write || range->writable;
        }
    }

    return false;
}

void drive_begin_homing(struct drive *drive, double fast, double acceleration)
{
    drive->homed = false;
    drive->homing = HOMING_SEEK;
    servo_run(&drive->servo, fast, acceleration);
}

bool drive_step_homing(struct drive *drive, double slow, double acceleration, double offset, bool positive)
{
    double past = positive ? drive->servo.position - drive->home_switch : drive->home_switch - drive->servo.position;

    if (drive->homing == HOMING_SEEK && past > 0) {
        drive->homing = HOMING_LEAVE;
        servo_run(&drive->servo, positive ? -slow : slow, acceleration);
    } else if (drive->homing == HOMING_LEAVE && past <= 0 && drive->servo.velocity * (positive ? -1 : 1) > 0) {
        drive->homing = HOMING_DONE;
        drive->home_switch += offset - drive->servo.position;
        servo_renumber(&drive->servo, offset);
        servo_stop(&drive->servo, acceleration);
        drive->homed = true;
        return true;
    }

    return false;
}

uint32_t high_first(const uint16_t *registers, int at)
{
    return (uint32_t)registers[at] << 16 | registers[at + 1];
}

uint32_t low_first(const uint16_t *registers, int at)
{
    return (uint32_t)registers[at + 1] << 16 | registers[at];
}

void put_high_first(uint16_t *registers, int at, uint32_t value)
{
    registers[at] = (uint16_t)(value >> 16);
    registers[at + 1] = (uint16_t)value;
}

void put_low_first(uint16_t *registers, int at, uint32_t value)
{
    registers[at] = (uint16_t)value;
    registers[at + 1] = (uint16_t)(value >> 16);
}
