#include "servo.h"

#include <math.h>

/* What friction takes from an axis without torque. */
#define COASTING_DECELERATION 50000.0
#define HOLDING_TORQUE 4.0
#define MOVING_TORQUE 12.0

void servo_move(struct servo *servo, double target, double velocity, double acceleration, double deceleration)
{
    servo->target = target;
    servo->top_velocity = fabs(velocity);
    servo->acceleration = acceleration;
    servo->deceleration = deceleration;
    servo->motion = SERVO_TO_TARGET;
}

void servo_run(struct servo *servo, double velocity, double acceleration)
{
    servo->top_velocity = velocity;
    servo->acceleration = acceleration;
    servo->deceleration = acceleration;
    servo->motion = SERVO_AT_SPEED;
}

void servo_stop(struct servo *servo, double deceleration)
{
    servo->deceleration = deceleration;
    servo->motion = SERVO_STOPPING;
}

void servo_renumber(struct servo *servo, double position)
{
    servo->position = position;
    servo->target = position;
}

bool servo_at_rest(const struct servo *servo)
{
    return servo->velocity == 0;
}

static double toward(double from, double to, double most)
{
    return fabs(to - from) <= most ? to : from + copysign(most, to - from);
}

/* The velocity wanted now: none to stop, else the highest from which the target can still be met. */
static double wanted_velocity(const struct servo *servo)
{
    double distance = servo->target - servo->position;

    switch (servo->motion) {
    case SERVO_AT_SPEED:
        return servo->top_velocity;
    case SERVO_TO_TARGET:
        return copysign(fmin(servo->top_velocity, sqrt(2 * servo->deceleration * fabs(distance))), distance);
    default:
        return 0;
    }
}

void servo_step(struct servo *servo, double dt)
{
    if (!servo->powered || servo->torque_limit <= 0) {
        servo->motion = SERVO_STOPPING;
        servo->deceleration = COASTING_DECELERATION;
    }

    double wanted = wanted_velocity(servo);
    bool slowing = fabs(wanted) < fabs(servo->velocity) || wanted * servo->velocity < 0;
    servo->velocity = toward(servo->velocity, wanted, (slowing ? servo->deceleration : servo->acceleration) * dt);

    double step = servo->velocity * dt;
    double distance = servo->target - servo->position;
    if (servo->motion == SERVO_TO_TARGET && fabs(distance) <= fmax(fabs(step), 0.5) && fabs(servo->velocity) <= 2 * servo->deceleration * dt + 1) {
        servo->position = servo->target;
        servo->velocity = 0;
        servo->motion = SERVO_HOLD;
    } else {
        servo->position += step;
    }

    if (servo->motion == SERVO_STOPPING && servo->velocity == 0) {
        servo->motion = SERVO_HOLD;
    }

    double asked = !servo->powered ? 0 : servo->velocity != 0 ? copysign(MOVING_TORQUE, servo->velocity) : HOLDING_TORQUE;
    servo->torque = copysign(fmin(fabs(asked), servo->torque_limit), asked);
}
