using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.Stories;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>
/// People who command the crossing rails as if there were nothing to mind: moves of every kind, several axes at once, gentle ramps, jogs,
/// halts, stops, disabling, homing, a line that falls silent. What touches is judged by the plants alone.
/// </summary>
internal sealed class RandomRails
{
    private static readonly string[] Names = ["lift", "arm", "left", "right"];
    private readonly SupervisedMachine _machine;
    private readonly Dice _dice;
    private readonly double _nearer;
    private readonly List<CommandTicket> _tickets = [];
    private JogPress? _press;
    private TimeSpan _pressUntil;
    private ulong _lastBypass = 1_000_000;

    /// <param name="seed">Decides everything.</param>
    /// <param name="keepsZones">False, a planted bug: the machine's zones never reach the supervisor.</param>
    /// <param name="nearer">Above 0, a planted bug: the carriages stand so much nearer, mm, than the machine file says.</param>
    public RandomRails(ulong seed, bool keepsZones = true, double nearer = 0)
    {
        _dice = new Dice(seed);
        _nearer = nearer;
        MachineDefinition machine = Rails.Machine();
        _machine = Rails.Apart(seed * 1000, keepsZones ? machine : machine with { Zones = [] });
        Seed = seed;
    }

    public ulong Seed { get; }

    /// <summary>Share of moves that go to the ports without the zones being asked, and whether the ports then don't look either: planted bugs.</summary>
    public double Bypass { get; init; }

    /// <summary>See <see cref="Bypass"/>.</summary>
    public bool BypassIsExcused { get; init; }

    /// <summary>Lines fall silent now and then.</summary>
    public bool Disturbed { get; init; }

    /// <summary>The first thing that touched and when; null: nothing did.</summary>
    public string? Collision { get; private set; }

    public int Moved { get; private set; }

    public int Refused { get; private set; }

    public int Trips => _machine.Journal.Faults.Count(fault => fault.Code is FaultCode.ZoneEntered or FaultCode.ZoneUnproven);

    /// <summary>Lets them command for a while, or until something touches.</summary>
    public void Run(double seconds)
    {
        var end = _machine.World.Queue.Now + TimeSpan.FromSeconds(seconds);
        var next = TimeSpan.Zero;
        while (_machine.World.Queue.Now < end && Collision is null)
        {
            if (_machine.World.Queue.Now >= next)
            {
                Act();
                next = _machine.World.Queue.Now + _dice.Seconds(0.02, 1.2);
            }

            HoldPress();
            _machine.Run(0.01);
            if (Rails.Collision(_machine.World, Bypass > 0 ? Rails.Watched : Rails.Predicted, _nearer) is { } collision)
            {
                Collision = $"seed {Seed}, {_machine.World.Queue.Now.TotalSeconds:0.000} s: {collision}";
            }
        }

        Count();
    }

    private void Act()
    {
        Count();
        var axis = _dice.Pick(Names);
        switch (_dice.Below(20))
        {
            case < 10:
                Move(axis);
                break;
            case < 12:
                _press = _machine.Control.Jog(new JogCommand(_machine.World.Axis(axis), _dice.Chance(0.5), _dice.Between(20, 300)), _machine.Grant);
                _pressUntil = _machine.World.Queue.Now + _dice.Seconds(0.1, 3);
                _tickets.Add(_press.Ticket);
                break;
            case 12:
                Submit(new HaltCommand(_dice.Chance(0.5) ? [] : _machine.Axes(axis)));
                break;
            case 13:
                Submit(new StopCommand(_dice.Chance(0.5) ? [] : _machine.Axes(axis)));
                break;
            case 14:
                Submit(new DisableCommand(_machine.Axes(axis)));
                break;
            case 15:
                Submit(new HomeCommand(_machine.Axes(axis)));
                break;
            case 16 when Disturbed:
                var port = _machine.World.Ports[_dice.Below(2)];
                port.IsUnplugged = !port.IsUnplugged;
                break;
            default:
                PutRight();
                break;
        }
    }

    /// <summary>What a patient operator does when axes no longer move.</summary>
    private void PutRight()
    {
        foreach (var port in _machine.World.Ports)
        {
            port.IsUnplugged = false;
        }

        Submit(new ReleaseCommand([]));
        foreach (var axis in _machine.Control.Status().Axes)
        {
            if (axis.State == AxisState.Faulted)
            {
                Submit(new ResetCommand(_machine.Axes(axis.Name)));
            }
            else if (axis.State == AxisState.Disabled)
            {
                Submit(new EnableCommand(_machine.Axes(axis.Name)));
            }
        }
    }

    private void Move(string axis)
    {
        var targets = _dice.Chance(0.25)
            ? _dice.Some(Names.Length).Select(index => Target(Names[index])).ToArray()
            : [Target(axis)];
        if (_dice.Chance(Bypass))
        {
            GoRound(targets[0]);
            return;
        }

        Submit(new MoveCommand(targets, _dice.Between(30, 300))
        {
            Deceleration = _dice.Chance(0.3) ? _dice.Between(100, 2000) : null,
            Acceleration = _dice.Chance(0.3) ? _dice.Between(100, 2000) : null,
            AfterCurrent = _dice.Chance(0.2),
        });
    }

    private MoveTarget Target(string axis)
    {
        var index = _machine.World.Axis(axis);
        var upper = _machine.World.Machine.Axes[index].Limits.UpperPosition!.Value;
        var lift = axis == "lift" && _dice.Chance(0.6) ? _dice.Between(0, 20) : _dice.Between(0, upper);
        return _dice.Below(3) switch
        {
            0 => new MoveTarget(index, _dice.Between(-upper / 2, upper / 2), Relative: true),
            1 when _dice.Chance(0.5) => new MoveTarget(index, _dice.Between(-upper / 2, upper / 2), Relative: false) { FromActual = true },
            _ => new MoveTarget(index, lift, Relative: false),
        };
    }

    /// <summary>As if the coordinator had not asked the zones.</summary>
    private void GoRound(MoveTarget target)
    {
        var world = _machine.World;
        var kind = target.Relative ? AxisCommandKind.MoveBy : target.FromActual ? AxisCommandKind.MoveFromHere : AxisCommandKind.Move;
        world.Board.Ports[world.Machine.Axes[target.Axis].Port].Mailbox.TryWrite(new AxisCommand(
            ++_lastBypass, (short)target.Axis, kind, world.Board.Latch.StopEpoch(target.Axis), target.Value, 300, 2000, 2000, 0)
            { ExcusedZones = BypassIsExcused ? ulong.MaxValue : 0 });
    }

    private void HoldPress()
    {
        if (_press is null)
        {
            return;
        }

        if (_machine.World.Queue.Now < _pressUntil)
        {
            _press.Refresh();
        }
        else
        {
            // Some let go, some only stop pressing.
            if (_dice.Chance(0.5))
            {
                _press.Release();
            }

            _press = null;
        }
    }

    private void Submit(MachineCommand command) => _tickets.Add(_machine.Control.Submit(command, _machine.Grant));

    private void Count()
    {
        foreach (var ticket in _tickets.Where(ticket => ticket.Completion.IsCompleted))
        {
            var answer = SupervisedMachine.Ended(ticket);
            Refused += answer.Refusal == Refusal.ZoneNotClear ? 1 : 0;
            Moved += answer.Outcome == Outcome.Done ? 1 : 0;
        }

        _tickets.RemoveAll(ticket => ticket.Completion.IsCompleted);
    }
}
