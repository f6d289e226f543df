using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Scenarios.Stories;

/// <summary>Those who work at the machine: one who knows how to bring it back and works with it, and others who press anything.</summary>
public sealed class People(StoryWorld world, Dice dice, InterlockTroubles interlocks, Fingers fingers)
{
    private AuthorityGrant? _grant;
    private int _clients;
    private TimeSpan _silentUntil;
    private TimeSpan _standsBackUntil;

    /// <summary>The grant that is held; null while nobody has authority.</summary>
    public AuthorityGrant? Grant => _grant;

    private MachineControl? Control => world.Supervisor?.Coordinator.Control;

    /// <summary>The supervisor is gone, and every client's connection with it.</summary>
    public void Disconnect() => _grant = null;

    /// <summary>Takes authority when nobody has it; lets go of it at times.</summary>
    public void ComeAndGo()
    {
        if (Control is not { } control)
        {
            return;
        }

        if (_grant is { } grant && dice.Chance(0.5))
        {
            world.Happen("client vanished");
            grant.Release(stopAxes: dice.Chance(0.8));
            _grant = null;
        }

        _grant ??= control.TryAcquire($"client {++_clients}", out _);
    }

    /// <summary>Every connection's own beat: who lives refreshes its authority, and who did not in time loses it.</summary>
    public void Beat()
    {
        if (Control is not { } control)
        {
            return;
        }

        if (world.Queue.Now >= _silentUntil)
        {
            _grant?.Refresh(world.Queue.Now);
        }

        control.LapseOverdue(world.Queue.Now);
        if (_grant is { Lapsed.IsCompleted: true })
        {
            world.Happen("authority lapsed");
            _grant = null;
        }
    }

    /// <summary>The client that holds authority hangs, or its network does, without a word.</summary>
    public void FallSilent()
    {
        world.Happen("client fell silent");
        _silentUntil = world.Queue.Now + dice.Seconds(0.5, 8);
    }

    /// <summary>The machine's mode is chosen.</summary>
    public void ChooseMode() => Give(new ChooseModeCommand(dice.Chance(0.6) ? MachineMode.Production : dice.Pick([MachineMode.Maintenance, MachineMode.Manual])));

    /// <summary>What somebody would do next who wants the machine to work.</summary>
    public void DoTheNextThing()
    {
        if (Control is not { } control || world.Queue.Now < _standsBackUntil)
        {
            return;
        }

        _grant ??= control.TryAcquire($"client {++_clients}", out _);
        var status = control.Status();
        if (status.Interlocks.Any(interlock => interlock is { Open: false, NeedsReset: true }))
        {
            interlocks.Press(dice.Seconds(0.15, 0.5));
            Give(new ResetCommand([]));
            return;
        }

        var axis = dice.Below(status.Axes.Count);
        switch (status.Axes[axis])
        {
            case { StopLocked: true } when dice.Chance(0.5):
                Give(new ReleaseCommand(dice.Chance(0.5) ? [] : [axis]));
                break;
            case { State: AxisState.Faulted }:
                Give(new ResetCommand([axis], LoadSupported: status.Axes[axis].Detail == AxisDetail.HoldingLoad));
                break;
            case { State: AxisState.Disabled, Referenced: false }:
                Give(new HomeCommand(dice.Chance(0.3) ? [] : [axis]));
                break;
            case { State: AxisState.Disabled }:
                Give(new EnableCommand([axis]));
                break;
            case { State: AxisState.Ready } when dice.Chance(0.15):
                fingers.Press(axis, _grant);
                break;
            case { State: AxisState.Ready } when world.Machine.Axes[axis].Torque is not null && dice.Chance(0.2):
                Give(Contact(axis));
                break;
            case { State: AxisState.Ready }:
                Give(GoodMove(axis));
                break;
        }
    }

    /// <summary>Any command at all: right, wrong, impossible, in any state.</summary>
    public void DoAnything()
    {
        if (Control is not null && dice.Chance(0.15))
        {
            fingers.Press(dice.Below(world.Machine.Axes.Count), _grant);
            return;
        }

        Give(Anything());
    }

    /// <summary>Many at once, each replacing or refusing the other.</summary>
    public void DoManyThings()
    {
        world.Happen("burst of commands");
        for (var i = 0; i < 5 + dice.Below(40); i++)
        {
            Give(dice.Chance(0.6) ? GoodMove(dice.Below(world.Machine.Axes.Count)) : Anything());
        }
    }

    public void Stop()
    {
        int[] axes = dice.Chance(0.5) ? [] : dice.Some(world.Machine.Axes.Count);
        Give(dice.Chance(0.5) ? new StopCommand(axes) : new HaltCommand(axes));
    }

    /// <summary>Who works with the machine leaves it alone for a while.</summary>
    public void StandBack(TimeSpan time) => _standsBackUntil = world.Queue.Now + time;

    /// <summary>Gives a command with the grant that is held, or mostly so.</summary>
    public void Give(MachineCommand command)
    {
        if (Control is not null)
        {
            world.Give(command, dice.Chance(0.95) ? _grant : null);
        }
    }

    private MoveCommand GoodMove(int axis)
    {
        var axes = dice.Chance(0.7) ? [axis] : dice.Some(world.Machine.Axes.Count);
        var slowest = axes.Min(other => world.Machine.Axes[other].Limits.Velocity);
        return new MoveCommand([.. axes.Select(other => Turned(GoodTarget(other)))], dice.Chance(0.3) ? slowest * dice.Between(0.1, 1) : null)
        {
            Acceleration = dice.Chance(0.1) ? axes.Min(other => world.Machine.Axes[other].Limits.Acceleration) * dice.Between(0.2, 1) : null,
            Deceleration = dice.Chance(0.2) ? axes.Min(other => world.Machine.Axes[other].Limits.Deceleration) * dice.Between(0.2, 1) : null,
            Approach = dice.Chance(0.15) ? new ApproachSpeed(slowest * dice.Between(0.05, 0.5), dice.Between(1, 30), dice.Chance(0.5) ? 0 : dice.Between(1, 30)) : null,
            AfterCurrent = dice.Chance(0.15),
        };
    }

    /// <summary>The other things a target can be, where the axis has them.</summary>
    private MoveTarget Turned(MoveTarget target)
    {
        if (world.Machine.Axes[target.Axis].EndlessPeriod is null)
        {
            return target;
        }

        return dice.Below(10) switch
        {
            0 => target with { Relative = false, WithoutEnd = true, Value = dice.Between(-1, 1) * world.Machine.Axes[target.Axis].Limits.Velocity },
            1 or 2 => target with { Relative = false, FromActual = true },
            3 or 4 => target with { Relative = false, Way = dice.Pick([WayRound.Positive, WayRound.Negative]) },
            _ => target,
        };
    }

    private MoveTarget GoodTarget(int axis)
    {
        var limits = world.Machine.Axes[axis].Limits;
        return limits is { LowerPosition: { } lower, UpperPosition: { } upper }
            ? new MoveTarget(axis, dice.Chance(0.1) ? (dice.Chance(0.5) ? lower : upper) : dice.Between(lower, upper), false)
            : new MoveTarget(axis, dice.Between(-1, 1) * limits.Velocity * 2, dice.Chance(0.6));
    }

    // Slow, and with a torque that moves the axis at all: faster or weaker ones touch in free air and then can't be braked by it.
    private ContactCommand Contact(int axis) => new(
        axis, GoodTarget(axis).Value, dice.Chance(0.8) ? dice.Between(15, 25) : dice.Pick([-5.0, 0, 40, double.NaN]),
        world.Machine.Axes[axis].Limits.Velocity * (dice.Chance(0.8) ? dice.Between(0.01, 0.05) : dice.Pick([0, 1.1, double.NaN])));

    private MachineCommand Anything()
    {
        var count = world.Machine.Axes.Count;
        var axis = dice.Below(count);
        return dice.Below(14) switch
        {
            0 => new EnableCommand(dice.Some(count)),
            1 => new DisableCommand(dice.Some(count)),
            2 => new HomeCommand(dice.Chance(0.5) ? [] : dice.Some(count)),
            3 => GoodMove(axis),
            4 => new MoveCommand([new MoveTarget(axis, dice.Pick([1e9, -1e9, double.NaN, double.PositiveInfinity, 0, 1e-9]), dice.Chance(0.5))], dice.Pick<double?>([null, 0, -1, 1e9, double.NaN, 5])),
            5 => Contact(axis),
            6 => new ResetCommand(dice.Chance(0.5) ? [] : dice.Some(count)),
            7 => new SetOutputCommand(axis, dice.Chance(0.8) ? "output1" : "no such output", dice.Chance(0.5)),
            8 => new MoveCommand([.. Enumerable.Range(0, count).Select(GoodTarget)], null),
            9 => new MoveCommand([new MoveTarget(dice.Pick([-1, count, 1000]), 1, false)], null),
            11 => new HaltCommand(dice.Some(count)),
            12 => new ReleaseCommand(dice.Some(count)),
            10 => new StopCommand(dice.Chance(0.5) ? [] : dice.Some(count)),
            _ => new MoveCommand([GoodTarget(axis), GoodTarget(axis)], null),
        };
    }
}
