/* A drive without CiA 402 words: one bit for each thing, low word first, short requests, no combined read and write. */
#include <math.h>

#include "drive.h"

enum { COMMAND = 100, TORQUE_LIMIT = 101, TARGET = 102, TOP_VELOCITY = 104, ACCELERATION = 106, DECELERATION = 108 };
enum { STATUS = 200, ERROR_CODE = 201, POSITION = 202, VELOCITY = 204, TORQUE = 206, DIGITAL_INPUTS = 207 };
enum { COMMUNICATION_TIMEOUT = 300, UPTIME = 302, SERIAL_NUMBER = 304 };

enum { POWER = 1 << 0, GO = 1 << 1, STOP = 1 << 2, FIND_REFERENCE = 1 << 3, CLEAR_FAULT = 1 << 4 };
enum { POWERED = 1 << 0, IN_POSITION = 1 << 1, REFERENCED = 1 << 2, FAULTY = 1 << 3, MOVING = 1 << 4 };

#define HOMING_FAST 10000.0
#define HOMING_SLOW 1000.0
#define HOMING_ACCELERATION 100000.0

static const uint8_t functions[] = { 0x03, 0x06, 0x10, 0 };
static const struct register_range ranges[] = { { 100, 10, true }, { 200, 8, false }, { 300, 6, true } };

static void start(struct drive *drive)
{
    put_low_first(drive->registers, TOP_VELOCITY, 10000);
    put_low_first(drive->registers, ACCELERATION, 100000);
    put_low_first(drive->registers, DECELERATION, 100000);
    drive->registers[TORQUE_LIMIT] = 1000;
}

static void stop(struct drive *drive, double deceleration)
{
    drive->homing = HOMING_IDLE;
    servo_stop(&drive->servo, deceleration);
}

static void command(struct drive *drive)
{
    uint16_t bits = drive->registers[COMMAND];
    uint16_t rising = bits & ~drive->last_command;

    drive->last_command = bits;
    drive->servo.torque_limit = drive->registers[TORQUE_LIMIT] / 10.0;
    if ((rising & CLEAR_FAULT) && !drive->cause_present && servo_at_rest(&drive->servo)) {
        drive->error = 0;
    }

    if (drive->error != 0) {
        return;
    }

    bool power = (bits & POWER) != 0;
    if (power != drive->servo.powered) {
        stop(drive, DRIVE_QUICK_STOP);
        drive->servo.powered = power;
    }

    if (!power) {
        return;
    }

    if (bits & STOP) {
        stop(drive, low_first(drive->registers, DECELERATION));
    } else if (rising & FIND_REFERENCE) {
        drive_begin_homing(drive, -HOMING_FAST, HOMING_ACCELERATION);
    } else if (rising & GO) {
        drive->homing = HOMING_IDLE;
        servo_move(&drive->servo, (int32_t)low_first(drive->registers, TARGET), low_first(drive->registers, TOP_VELOCITY),
                   low_first(drive->registers, ACCELERATION), low_first(drive->registers, DECELERATION));
    }
}

static void advance(struct drive *drive)
{
    double timeout_s = drive->registers[COMMUNICATION_TIMEOUT] / 1000.0;

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

static void publish(struct drive *drive)
{
    uint16_t *registers = drive->registers;
    bool searching = drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE;
    bool moving = searching || drive->servo.motion != SERVO_HOLD || !servo_at_rest(&drive->servo);

    registers[STATUS] = (uint16_t)((drive->servo.powered ? POWERED : 0) | (moving ? MOVING : IN_POSITION) | (drive->homed ? REFERENCED : 0)
                                   | (drive->error != 0 ? FAULTY : 0));
    registers[ERROR_CODE] = drive->error;
    put_low_first(registers, POSITION, (uint32_t)(int32_t)lround(drive->servo.position));
    put_low_first(registers, VELOCITY, (uint32_t)(int32_t)lround(drive->servo.velocity));
    registers[TORQUE] = (uint16_t)(int16_t)lround(drive->servo.torque * 10);
    registers[DIGITAL_INPUTS] = drive->inputs;
    put_low_first(registers, UPTIME, (uint32_t)(drive->uptime_s * 1000));
    put_low_first(registers, SERIAL_NUMBER, DRIVE_SERIAL_NUMBER);
}

const struct drive_kind bits_kind = {
    .name = "bits",
    .functions = functions,
    .most_registers = 8,
    .ranges = ranges,
    .range_count = 3,
    .start = start,
    .command = command,
    .advance = advance,
    .publish = publish,
};
