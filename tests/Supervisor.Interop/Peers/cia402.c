/* A drive with CiA 402 words (IEC 61800-7-201): power state machine, profile position with set-point handshake, homing. High word first. */
#include <math.h>

#include "cia402.h"
#include "drive.h"

/* State bits of the statusword. */
enum {
    SWITCH_ON_DISABLED = 0x40,
    READY_TO_SWITCH_ON = 0x21,
    SWITCHED_ON = 0x23,
    OPERATION_ENABLED = 0x27,
    QUICK_STOP_ACTIVE = 0x07,
    FAULT_REACTION_ACTIVE = 0x0F,
    FAULT = 0x08
};

enum { VOLTAGE = 1 << 4, REMOTE = 1 << 9, TARGET_REACHED = 1 << 10, BIT_12 = 1 << 12 };
enum { START = 1 << 4, CHANGE_AT_ONCE = 1 << 5, RELATIVE = 1 << 6, RESET = 1 << 7, HALT = 1 << 8 };
enum { MODE_PROFILE_POSITION = 1, MODE_HOMING = 6 };

static const uint8_t functions[] = { 0x03, 0x06, 0x10, 0x17, 0 };
static const struct register_range ranges[] = { { 0, 8, false }, { 64, 12, true }, { 128, 18, true } };

static void become(struct drive *drive, uint16_t state)
{
    bool energised = state == OPERATION_ENABLED || state == QUICK_STOP_ACTIVE || state == FAULT_REACTION_ACTIVE;

    drive->status = state;
    if (state != OPERATION_ENABLED) {
        drive->acknowledge = drive->queued = false;
        drive->homing = HOMING_IDLE;
    }

    if (state == QUICK_STOP_ACTIVE || state == FAULT_REACTION_ACTIVE) {
        servo_stop(&drive->servo, DRIVE_QUICK_STOP);
    } else if (energised && !drive->servo.powered) {
        servo_stop(&drive->servo, DRIVE_QUICK_STOP);
    }

    drive->servo.powered = energised;
}

static void start(struct drive *drive)
{
    put_high_first(drive->registers, PROFILE_VELOCITY, 10000);
    put_high_first(drive->registers, PROFILE_ACCELERATION, 100000);
    put_high_first(drive->registers, PROFILE_DECELERATION, 100000);
    put_high_first(drive->registers, SERIAL_NUMBER, DRIVE_SERIAL_NUMBER);
    put_high_first(drive->registers, HOMING_FAST, 10000);
    put_high_first(drive->registers, HOMING_SLOW, 1000);
    put_high_first(drive->registers, HOMING_ACCELERATION, 100000);
    drive->registers[TORQUE_LIMIT] = 1000;
    drive->registers[HOMING_METHOD] = 17;
    become(drive, SWITCH_ON_DISABLED);
}

static void fail(struct drive *drive, uint16_t error)
{
    if (drive->status != FAULT && drive->status != FAULT_REACTION_ACTIVE) {
        drive->error = error;
        become(drive, drive->servo.powered ? FAULT_REACTION_ACTIVE : FAULT);
    }
}

static void obey_state_bits(struct drive *drive, uint16_t word)
{
    bool disable_voltage = (word & 0x02) == 0;
    bool quick_stop = (word & 0x06) == 0x02;
    bool shutdown = (word & 0x07) == 0x06;
    bool switch_on = (word & 0x07) == 0x07;
    bool enable = (word & 0x0F) == 0x0F;

    switch (drive->status) {
    case SWITCH_ON_DISABLED:
        if (shutdown) {
            become(drive, READY_TO_SWITCH_ON);
        }
        break;
    case READY_TO_SWITCH_ON:
        if (disable_voltage || quick_stop) {
            become(drive, SWITCH_ON_DISABLED);
        } else if (switch_on) {
            become(drive, SWITCHED_ON);
        }
        break;
    case SWITCHED_ON:
        if (disable_voltage || quick_stop) {
            become(drive, SWITCH_ON_DISABLED);
        } else if (shutdown) {
            become(drive, READY_TO_SWITCH_ON);
        } else if (enable) {
            become(drive, OPERATION_ENABLED);
        }
        break;
    case OPERATION_ENABLED:
        if (disable_voltage) {
            become(drive, SWITCH_ON_DISABLED);
        } else if (quick_stop) {
            become(drive, QUICK_STOP_ACTIVE);
        } else if (shutdown) {
            become(drive, READY_TO_SWITCH_ON);
        } else if (!enable) {
            become(drive, SWITCHED_ON);
        }
        break;
    case QUICK_STOP_ACTIVE:
        if (disable_voltage) {
            become(drive, SWITCH_ON_DISABLED);
        }
        break;
    }
}

static void move_to(struct drive *drive, double target)
{
    servo_move(&drive->servo, target, high_first(drive->registers, PROFILE_VELOCITY), high_first(drive->registers, PROFILE_ACCELERATION),
               high_first(drive->registers, PROFILE_DECELERATION));
}

static void obey_profile_position(struct drive *drive, uint16_t word, uint16_t rising)
{
    if (rising & START) {
        double target = (int32_t)high_first(drive->registers, TARGET_POSITION) + (word & RELATIVE ? drive->servo.target : 0);
        bool busy = drive->servo.motion == SERVO_TO_TARGET && !(word & CHANGE_AT_ONCE);
        drive->acknowledge = true;
        drive->queued = busy;
        drive->queued_target = target;
        if (!busy) {
            move_to(drive, target);
        }
    } else if (!(word & START) && !drive->queued) {
        drive->acknowledge = false;
    }
}

static void obey_homing(struct drive *drive, uint16_t word, uint16_t rising)
{
    int method = (int16_t)drive->registers[HOMING_METHOD];
    double fast = high_first(drive->registers, HOMING_FAST);
    double acceleration = high_first(drive->registers, HOMING_ACCELERATION);

    if ((rising & START) && (method == 35 || method == 37)) {
        double offset = (int32_t)high_first(drive->registers, HOME_OFFSET);
        drive->home_switch += offset - drive->servo.position;
        servo_renumber(&drive->servo, offset);
        drive->homing = HOMING_DONE;
        drive->homed = true;
    } else if (rising & START) {
        drive_begin_homing(drive, method == 2 || method == 18 ? fast : -fast, acceleration);
    } else if (!(word & START) && (drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE)) {
        drive->homing = HOMING_IDLE;
        servo_stop(&drive->servo, acceleration);
    }
}

static void command(struct drive *drive)
{
    uint16_t word = drive->registers[CONTROLWORD];
    uint16_t rising = word & ~drive->last_command;
    int mode = (int16_t)drive->registers[MODE];

    drive->last_command = word;
    drive->servo.torque_limit = drive->registers[TORQUE_LIMIT] / 10.0;
    if (drive->status == FAULT && (rising & RESET) && !drive->cause_present) {
        drive->error = 0;
        become(drive, SWITCH_ON_DISABLED);
        return;
    }

    obey_state_bits(drive, word);
    if (drive->status != OPERATION_ENABLED) {
        return;
    }

    if (word & HALT) {
        servo_stop(&drive->servo, high_first(drive->registers, PROFILE_DECELERATION));
    } else if (mode == MODE_PROFILE_POSITION) {
        drive->homing = HOMING_IDLE;
        obey_profile_position(drive, word, rising);
    } else if (mode == MODE_HOMING) {
        obey_homing(drive, word, rising);
    }
}

static void advance(struct drive *drive)
{
    double timeout_s = drive->registers[COMMUNICATION_TIMEOUT] / 1000.0;

    if (timeout_s > 0 && drive->silent_s > timeout_s && drive->servo.powered) {
        fail(drive, DRIVE_ERROR_SILENCE);
    }

    if (drive->cause_present) {
        fail(drive, drive->error);
    }

    if (drive->status == QUICK_STOP_ACTIVE && servo_at_rest(&drive->servo)) {
        become(drive, SWITCH_ON_DISABLED);
    } else if (drive->status == FAULT_REACTION_ACTIVE && servo_at_rest(&drive->servo)) {
        become(drive, FAULT);
    }

    if (drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE) {
        int method = (int16_t)drive->registers[HOMING_METHOD];
        drive_step_homing(drive, high_first(drive->registers, HOMING_SLOW), high_first(drive->registers, HOMING_ACCELERATION),
                          (int32_t)high_first(drive->registers, HOME_OFFSET), method == 2 || method == 18);
    }

    if (drive->queued && drive->servo.motion == SERVO_HOLD) {
        drive->queued = false;
        drive->acknowledge = (drive->registers[CONTROLWORD] & START) != 0;
        move_to(drive, drive->queued_target);
    }
}

static void publish(struct drive *drive)
{
    uint16_t *registers = drive->registers;
    bool homing_mode = (int16_t)registers[MODE] == MODE_HOMING;
    bool searching = drive->homing == HOMING_SEEK || drive->homing == HOMING_LEAVE;
    bool reached = servo_at_rest(&drive->servo) && drive->servo.motion == SERVO_HOLD && !searching;
    bool bit_12 = homing_mode ? drive->homing == HOMING_DONE : drive->acknowledge;

    registers[STATUSWORD] = (uint16_t)(drive->status | VOLTAGE | REMOTE | (reached ? TARGET_REACHED : 0) | (bit_12 ? BIT_12 : 0));
    put_high_first(registers, POSITION, (uint32_t)(int32_t)lround(drive->servo.position));
    put_high_first(registers, VELOCITY, (uint32_t)(int32_t)lround(drive->servo.velocity));
    registers[TORQUE] = (uint16_t)(int16_t)lround(drive->servo.torque * 10);
    registers[ERROR_CODE] = drive->error;
    registers[DIGITAL_INPUTS] = drive->inputs;
    put_high_first(registers, UPTIME, (uint32_t)(drive->uptime_s * 1000));
    put_high_first(registers, SERIAL_NUMBER, DRIVE_SERIAL_NUMBER);
    registers[HOMED] = drive->homed;
}

const struct drive_kind cia402_kind = {
    .name = "cia402",
    .functions = functions,
    .most_registers = 32,
    .ranges = ranges,
    .range_count = 3,
    .start = start,
    .command = command,
    .advance = advance,
    .publish = publish,
};
