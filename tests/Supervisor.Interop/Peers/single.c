/*
 * The CiA 402 drive behind an awkward front: registers are written one by one and read by function 04, feedback lies in two places, values
 * have 16 bits and steps of their own, only writes keep its time-out quiet, and now and then it is busy.
 */
#include <math.h>

#include "cia402.h"
#include "drive.h"

enum { OWN_STATUS = 10, OWN_MODE_DISPLAY = 11, OWN_POSITION = 12 };
enum { OWN_SPEED = 40, OWN_TORQUE = 41, OWN_ERROR = 42, OWN_INPUTS = 43 };
enum { OWN_MODE = 100, OWN_TORQUE_LIMIT = 101, OWN_TARGET = 102, OWN_ACCELERATION = 103, OWN_DECELERATION = 104, OWN_TOP_SPEED = 105, OWN_CONTROL = 120 };
enum { OWN_TIMEOUT = 200, OWN_UPTIME = 201, OWN_SERIAL_NUMBER = 202 };

#define POSITION_STEP 4    /* counts */
#define SPEED_STEP 10      /* counts/s */
#define RAMP_STEP 100      /* counts/s^2 */
#define TORQUE_STEP 0.5    /* percent of rated */
#define TIMEOUT_STEP_MS 10 /* the time-out's register */

static const uint8_t functions[] = { 0x04, 0x06, 0 };
static const struct register_range ranges[] = { { 10, 3, false }, { 40, 4, false }, { 100, 6, true }, { 120, 1, true }, { 200, 4, true } };

/* What the CiA 402 drive believes to be its registers. */
static uint16_t inner[DRIVE_REGISTERS];

static void within(struct drive *drive, void (*action)(struct drive *drive))
{
    uint16_t *own = drive->registers;

    drive->registers = inner;
    action(drive);
    drive->registers = own;
}

static void start(struct drive *drive)
{
    uint16_t *own = drive->registers;

    within(drive, cia402_kind.start);
    own[OWN_MODE] = inner[MODE];
    own[OWN_TORQUE_LIMIT] = 200;
    own[OWN_TOP_SPEED] = 1000;
    own[OWN_ACCELERATION] = own[OWN_DECELERATION] = 1000;
}

static void command(struct drive *drive)
{
    const uint16_t *own = drive->registers;

    inner[CONTROLWORD] = own[OWN_CONTROL];
    inner[MODE] = own[OWN_MODE];
    inner[TORQUE_LIMIT] = (uint16_t)lround(own[OWN_TORQUE_LIMIT] * TORQUE_STEP * 10);
    inner[COMMUNICATION_TIMEOUT] = (uint16_t)(own[OWN_TIMEOUT] * TIMEOUT_STEP_MS);
    put_high_first(inner, TARGET_POSITION, (uint32_t)((int16_t)own[OWN_TARGET] * POSITION_STEP));
    put_high_first(inner, PROFILE_VELOCITY, (uint32_t)own[OWN_TOP_SPEED] * SPEED_STEP);
    put_high_first(inner, PROFILE_ACCELERATION, (uint32_t)own[OWN_ACCELERATION] * RAMP_STEP);
    put_high_first(inner, PROFILE_DECELERATION, (uint32_t)own[OWN_DECELERATION] * RAMP_STEP);
    within(drive, cia402_kind.command);
}

static void advance(struct drive *drive)
{
    within(drive, cia402_kind.advance);
}

static void publish(struct drive *drive)
{
    uint16_t *own = drive->registers;

    within(drive, cia402_kind.publish);
    own[OWN_STATUS] = inner[STATUSWORD];
    own[OWN_MODE_DISPLAY] = inner[MODE];
    own[OWN_POSITION] = (uint16_t)lround(drive->servo.position / POSITION_STEP);
    own[OWN_SPEED] = (uint16_t)(int16_t)lround(drive->servo.velocity / SPEED_STEP);
    own[OWN_TORQUE] = (uint16_t)(int16_t)lround(drive->servo.torque / TORQUE_STEP);
    own[OWN_ERROR] = inner[ERROR_CODE];
    own[OWN_INPUTS] = inner[DIGITAL_INPUTS];
    own[OWN_UPTIME] = (uint16_t)drive->uptime_s;
    put_low_first(own, OWN_SERIAL_NUMBER, DRIVE_SERIAL_NUMBER);
}

const struct drive_kind single_kind = {
    .name = "single",
    .functions = functions,
    .most_registers = 6,
    .fed_by_writes = true,
    .busy_every = 7,
    .ranges = ranges,
    .range_count = 5,
    .start = start,
    .command = command,
    .advance = advance,
    .publish = publish,
};
