/*
 * A drive with awkward habits: locked until two keys were written in order (only a stop is taken before), every edge acknowledged by a bit that
 * stands until the command bit was taken back and without which no new edge is seen, ramps as times to a stated speed, faults by its own numbers, and
 * one of them cleared only with a number of its own beside the reset.
 */
#include <math.h>

#include "drive.h"

enum { COMMAND = 100, TORQUE_LIMIT = 101, TARGET = 102, TOP_VELOCITY = 104, ACCELERATION_TIME = 106, DECELERATION_TIME = 107, CLEAR_NUMBER = 108 };
enum { STATUS = 10, ERROR_CODE = 11, POSITION = 12, VELOCITY = 14, TORQUE = 16, DIGITAL_INPUTS = 17 };
enum { COMMUNICATION_TIMEOUT = 200, UPTIME = 202, SERIAL_NUMBER = 204, KEY = 300 };

enum { POWER = 1 << 0, GO = 1 << 1, STOP = 1 << 2, FIND_REFERENCE = 1 << 3, CLEAR_FAULT = 1 << 4 };
enum { POWERED = 1 << 0, IN_POSITION = 1 << 1, REFERENCED = 1 << 2, FAULTY = 1 << 3, MOVING = 1 << 4, UNLOCKED = 1 << 8 };

#define EDGES (GO | FIND_REFERENCE | CLEAR_FAULT)
#define ACKNOWLEDGE_SHIFT 8 /* GO, bit 1, is acknowledged by bit 9 of the status */
#define FIRST_KEY 0x1234
#define SECOND_KEY 0x5678
#define NOT_KNOWN 0x80000000u /* instead of a position */
#define RAMP_SPEED 20000.0 /* counts/s that the ramp times lead to */
#define HOMING_FAST 10000.0
#define HOMING_SLOW 1000.0
#define HOMING_ACCELERATION 100000.0
#define OWN_ERROR_SILENCE 90
#define OWN_ERROR_OVER_CURRENT 17
#define CLEARS_OVER_CURRENT 0xC117

static const uint8_t functions[] = { 0x03, 0x10, 0 };
static const struct register_range ranges[] = { { 100, 9, true }, { 10, 8, false }, { 200, 6, true }, { 300, 1, true } };

static int keys;          /* taken so far; 2: unlocked */
static uint16_t answered; /* edges that are acknowledged */

static void start(struct drive *drive)
{
    keys = 0;
    answered = 0;
    drive->registers[TORQUE_LIMIT] = 1000;
    put_high_first(drive->registers, TOP_VELOCITY, 10000);
    drive->registers[ACCELERATION_TIME] = 200;
    drive->registers[DECELERATION_TIME] = 200;
}

static double ramp(const struct drive *drive, int at)
{
    double ms = drive->registers[at] < 1 ? 1 : drive->registers[at];
    return RAMP_SPEED / (ms / 1000);
}

static void stop(struct drive *drive, double deceleration)
{
    drive->homing = HOMING_IDLE;
    servo_stop(&drive->servo, deceleration);
}

/* Locked, only these are taken: a key, and the command register alone. */
static bool takes(const struct drive *drive, int first, int count)
{
    (void)drive;
    return keys == 2 || first == KEY || (first == COMMAND && count == 1);
}

static void take_key(struct drive *drive)
{
    uint16_t key = drive->registers[KEY];

    drive->registers[KEY] = 0;
    if (keys == 0 && key == FIRST_KEY) {
        keys = 1;
    } else if (keys == 1 && key == SECOND_KEY) {
        keys = 2;
    } else if (keys == 1 && key != 0) {
        keys = 0;
    }
}

/* A new edge is seen only of a bit whose acknowledgement has gone. */
static uint16_t take_edges(struct drive *drive, uint16_t bits)
{
    uint16_t rising = bits & ~drive->last_command & EDGES & ~answered;

    drive->last_command = bits;
    return rising;
}

static void set_power(struct drive *drive, bool power)
{
    if (power != drive->servo.powered) {
        stop(drive, DRIVE_QUICK_STOP);
        drive->servo.powered = power;
    }
}

static void command(struct drive *drive)
{
    uint16_t bits = drive->registers[COMMAND];

    take_key(drive);
    if (keys < 2) {
        /* Locked: a stop or the loss of the power bit acts, nothing else. */
        if (bits & STOP) {
            stop(drive, DRIVE_QUICK_STOP);
        }

        if (!(bits & POWER)) {
            set_power(drive, false);
        }

        drive->last_command = bits;
        return;
    }

    uint16_t rising = take_edges(drive, bits);
    drive->servo.torque_limit = drive->registers[TORQUE_LIMIT] / 10.0;
    if (rising & CLEAR_FAULT) {
        answered |= CLEAR_FAULT;
        bool permitted = drive->error != 0x2310 || drive->registers[CLEAR_NUMBER] == CLEARS_OVER_CURRENT;
        if (permitted && !drive->cause_present && servo_at_rest(&drive->servo)) {
            drive->error = 0;
        }
    }

    if (drive->error != 0) {
        return;
    }

    set_power(drive, (bits & POWER) != 0);
    if (!drive->servo.powered) {
        return;
    }

    if (bits & STOP) {
        stop(drive, ramp(drive, DECELERATION_TIME));
    } else if (rising & FIND_REFERENCE) {
        answered |= FIND_REFERENCE;
        drive_begin_homing(drive, -HOMING_FAST, HOMING_ACCELERATION);
    } else if (rising & GO) {
        answered |= GO;
        drive->homing = HOMING_IDLE;
        servo_move(&drive->servo, (int32_t)high_first(drive->registers, TARGET), high_first(drive->registers, TOP_VELOCITY),
                   ramp(drive, ACCELERATION_TIME), ramp(drive, DECELERATION_TIME));
    }
}

static void advance(struct drive *drive)
{
    double timeout_s = drive->registers[COMMUNICATION_TIMEOUT] / 1000.0;

    answered &= drive->last_command;
    if (timeout_s > 0 && drive->silent_s > timeout_s && drive->servo.powered && drive->error == 0) {
        drive->error = DRIVE_ERROR_SILENCE;
    }

    if (drive->error != 0 && drive->servo.powered) {
        stop(drive, DRIVE_QUICK_STOP);
        drive->servo.powered = !servo_at_rest(&drive->servo);
    }

    if (drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE) {
        drive_step_homing(drive, HOMING_SLOW, HOMING_ACCELERATION, 0, false);
    }
}

static uint16_t own_number(uint16_t error)
{
    return error == DRIVE_ERROR_SILENCE ? OWN_ERROR_SILENCE : error == 0x2310 ? OWN_ERROR_OVER_CURRENT : error;
}

static void publish(struct drive *drive)
{
    uint16_t *registers = drive->registers;
    bool searching = drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE;
    bool moving = searching || drive->servo.motion != SERVO_HOLD || !servo_at_rest(&drive->servo);

    registers[STATUS] = (uint16_t)((drive->servo.powered ? POWERED : 0) | (moving ? MOVING : IN_POSITION) | (drive->homed ? REFERENCED : 0)
                                   | (drive->error != 0 ? FAULTY : 0) | (keys == 2 ? UNLOCKED : 0) | answered << ACKNOWLEDGE_SHIFT);
    registers[ERROR_CODE] = own_number(drive->error);
    put_high_first(registers, POSITION, drive->homed ? (uint32_t)(int32_t)lround(drive->servo.position) : NOT_KNOWN);
    put_high_first(registers, VELOCITY, (uint32_t)(int32_t)lround(drive->servo.velocity));
    registers[TORQUE] = (uint16_t)(int16_t)lround(drive->servo.torque * 10);
    registers[DIGITAL_INPUTS] = drive->inputs;
    put_high_first(registers, UPTIME, (uint32_t)(drive->uptime_s * 1000));
    put_high_first(registers, SERIAL_NUMBER, DRIVE_SERIAL_NUMBER);
}

const struct drive_kind awkward_kind = {
    .name = "awkward",
    .functions = functions,
    .most_registers = 16,
    .ranges = ranges,
    .range_count = 4,
    .start = start,
    .command = command,
    .advance = advance,
    .publish = publish,
    .takes = takes,
};
