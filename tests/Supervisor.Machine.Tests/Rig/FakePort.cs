using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Tests.Rig;

/// <summary>One axis as a port's stepper would keep it.</summary>
internal sealed class FakeAxis
{
    public AxisSnapshot Now;
    public AxisCommand InHand;

    /// <summary>Steps that a command needs; int.MaxValue: until <see cref="FakePort.Finish"/>.</summary>
    public int StepsPerCommand { get; set; } = 2;

    public int StepsLeft { get; set; }

    /// <summary>Answered to the next command instead of taking it.</summary>
    public Refusal NextRefusal { get; set; }

    /// <summary>False: the axis ignores stops, as one with a broken line.</summary>
    public bool ObeysStops { get; set; } = true;

    /// <summary>Every command that was taken, oldest first.</summary>
    public List<AxisCommand> Taken { get; } = [];
}

/// <summary>Plays the stepper's side of a port's rings: takes commands, obeys stops, writes snapshots and inputs.</summary>
internal sealed class FakePort
{
    private readonly MachineBoard _board;
    private readonly int _port;
    private readonly FakeAxis?[] _axes;
    private readonly (int Cell, int Axis)[] _inputs;
    private TimeSpan _now;

    public FakePort(MachineBoard board, int port)
    {
        _board = board;
        _port = port;
        _axes = [.. board.Machine.Axes.Select(axis => axis.Port == port ? new FakeAxis() : null)];
        _inputs = [.. board.Inputs.Inputs.Where(input => input.Axis >= 0 && board.Machine.Axes[input.Axis].Port == port)
            .Select(input => (board.Inputs.IndexOf(input), input.Axis))];
        foreach (var axis in _axes)
        {
            if (axis is not null)
            {
                axis.Now.Online = true;
                axis.Now.AtRest = true;
            }
        }
    }

    /// <summary>False: the port's thread hangs.</summary>
    public bool Steps { get; set; } = true;

    /// <summary>False: commands stay in the mailbox.</summary>
    public bool ReadsMailbox { get; set; } = true;

    public bool Open { get; set; } = true;

    /// <summary>Its adapter hears what it sends.</summary>
    public bool HearsItself { get; set; }

    /// <summary>Levels by input text; missing: closed for interlocks, released for buttons.</summary>
    public Dictionary<string, bool> Levels { get; } = [];

    public FakeAxis this[int axis] => _axes[axis]!;

    public void Step(TimeSpan now)
    {
        if (!Steps)
        {
            return;
        }

        _now = now;
        foreach (var (cell, axis) in _inputs)
        {
            if (this[axis].Now.Online)
            {
                var text = _board.Inputs.Inputs[cell].Text;
                _board.Inputs.Write(cell, Levels.TryGetValue(text, out var level) ? level : !text.EndsWith("input3", StringComparison.Ordinal), now);
            }
        }

        while (ReadsMailbox && _board.Ports[_port].Mailbox.TryRead(out var command))
        {
            Take(command);
        }

        for (short axis = 0; axis < _axes.Length; axis++)
        {
            if (_axes[axis] is not null)
            {
                StepAxis(axis);
            }
        }

        _board.Ports[_port].Port.Write(new PortSnapshot { At = now, Open = Open, HearsItself = HearsItself });
    }

    /// <summary>Ends the command in hand as done.</summary>
    public void Finish(short axis, double value = 0)
    {
        var fake = this[axis];
        Become(fake, fake.InHand);
        Report(axis, Outcome.Done, value: value);
    }

    public void Fault(short axis, FaultCode code, ushort driveCode = 0)
    {
        var fake = this[axis];
        var before = fake.Now.State;
        fake.Now.State = AxisState.Faulted;
        fake.Now.Fault = code;
        fake.Now.DriveCode = driveCode;
        fake.Now.TorqueOn = false;
        fake.Now.Referenced &= code is not (FaultCode.LinkLost or FaultCode.DriveRestarted);
        Write(axis);
        if (_board.Machine.Axes[axis].Group is { } group)
        {
            _board.Latch.Trip(_board.Causes.Group(group));
        }

        _board.Ports[_port].Faults.TryWrite(new FaultEvent(_now, axis, (short)_port, code, driveCode, before, fake.InHand.Id, fake.Now.Position));
        if (fake.InHand.Id != 0)
        {
            Report(axis, Outcome.Failed, fault: code);
        }
    }

    /// <summary>The brake failed its proof, and the motor alone holds the load.</summary>
    public void Hold(short axis)
    {
        Fault(axis, FaultCode.BrakeProofFailed);
        (this[axis].Now.Detail, this[axis].Now.TorqueOn, this[axis].Now.AtRest) = (AxisDetail.HoldingLoad, true, true);
        Write(axis);
    }

    public void SetOnline(short axis, bool online)
    {
        this[axis].Now.Online = online;
        if (!online)
        {
            Fault(axis, FaultCode.LinkLost);
        }
    }

    /// <summary>A warning: told, and nothing else.</summary>
    public void Warn(short axis, FaultCode code) =>
        _board.Ports[_port].Faults.TryWrite(new FaultEvent(_now, axis, (short)_port, code, 0, this[axis].Now.State, this[axis].InHand.Id, 0));

    private void Take(AxisCommand command)
    {
        var fake = this[command.Axis];
        var refusal = fake.NextRefusal != Refusal.None ? fake.NextRefusal
            : command.Kind != AxisCommandKind.Release && command.StopEpoch != _board.Latch.StopEpoch(command.Axis) ? Refusal.Stopped
            : IsMotion(command.Kind) && (_board.Latch.Standing() & Forbidding(command.Axis, command.Kind)) != 0 ? Refusal.InterlockOpen
            : Refusal.None;
        fake.NextRefusal = Refusal.None;
        if (refusal != Refusal.None)
        {
            var outcome = refusal == Refusal.Stopped ? Outcome.Replaced : Outcome.Refused;
            Send(new AxisReport(command.Id, command.Axis, outcome, refusal, FaultCode.None, 0, _now));
            return;
        }

        if (command.Kind == AxisCommandKind.Release)
        {
            _board.Latch.Release(command.Axis, command.StopEpoch);
        }

        if (command.Kind is AxisCommandKind.SetOutput or AxisCommandKind.Release)
        {
            fake.Taken.Add(command);
            Send(new AxisReport(command.Id, command.Axis, Outcome.None, Refusal.None, FaultCode.None, 0, _now));
            Send(new AxisReport(command.Id, command.Axis, Outcome.Done, Refusal.None, FaultCode.None, 0, _now));
            return;
        }

        if (fake.InHand.Id != 0)
        {
            Report(command.Axis, Outcome.Replaced, Refusal.ReplacedByCommand);
        }

        fake.InHand = command;
        fake.Taken.Add(command);
        fake.StepsLeft = fake.StepsPerCommand;
        fake.Now.State = command.Kind switch
        {
            AxisCommandKind.Home => AxisState.Homing,
            AxisCommandKind.Move or AxisCommandKind.MoveBy or AxisCommandKind.Run or AxisCommandKind.Contact or AxisCommandKind.Jog => AxisState.Moving,
            _ => fake.Now.State,
        };
        fake.Now.TorqueOn |= IsMotion(command.Kind);
        fake.Now.AtRest = !IsMotion(command.Kind);
        Send(new AxisReport(command.Id, command.Axis, Outcome.None, Refusal.None, FaultCode.None, 0, _now));
    }

    private void StepAxis(short axis)
    {
        var fake = this[axis];
        if (fake.ObeysStops && fake.Now.Online)
        {
            Stop(axis, fake);
        }

        if (fake.InHand.Id != 0 && fake.StepsPerCommand != int.MaxValue && --fake.StepsLeft <= 0)
        {
            Finish(axis);
        }

        Write(axis);
    }

    private void Stop(short axis, FakeAxis fake)
    {
        var epoch = _board.Latch.StopEpoch(axis);
        fake.Now.Causes = _board.Latch.Standing() & _board.Causes.Mask(axis);
        if (epoch != fake.Now.StopEpochSeen || ((fake.Now.Causes & Forbidding(axis, fake.InHand.Kind)) != 0 && fake.Now.State != AxisState.Faulted))
        {
            var refusal = epoch != fake.Now.StopEpochSeen ? Refusal.Stopped : Refusal.InterlockTripped;
            fake.Now.StopEpochSeen = epoch;
            var removesTorque = (fake.Now.Causes & (_board.Causes.Mask(axis, 0) | _board.Causes.Mask(axis, 1))) != 0;
            if (fake.Now.State is AxisState.Moving or AxisState.Homing or AxisState.Ready)
            {
                fake.Now.State = removesTorque || fake.Now.State == AxisState.Homing ? AxisState.Disabled : AxisState.Ready;
                fake.Now.TorqueOn = fake.Now.State == AxisState.Ready;
                fake.Now.AtRest = true;
            }

            if (fake.InHand.Id != 0 && IsMotion(fake.InHand.Kind))
            {
                Report(axis, Outcome.Replaced, refusal);
            }
        }
    }

    private static void Become(FakeAxis fake, in AxisCommand command)
    {
        fake.Now.AtRest = true;
        if (command.Kind == AxisCommandKind.LoadSupported)
        {
            (fake.Now.Detail, fake.Now.TorqueOn) = (AxisDetail.None, false);
            return;
        }

        fake.Now.State = command.Kind is AxisCommandKind.Disable or AxisCommandKind.Reset ? AxisState.Disabled : AxisState.Ready;
        fake.Now.TorqueOn = fake.Now.State == AxisState.Ready;
        fake.Now.Fault = command.Kind == AxisCommandKind.Reset ? FaultCode.None : fake.Now.Fault;
        fake.Now.Referenced |= command.Kind == AxisCommandKind.Home;
        fake.Now.Target = command.Kind switch
        {
            AxisCommandKind.Move or AxisCommandKind.Contact => command.Target,
            AxisCommandKind.MoveBy => fake.Now.Target + command.Target,
            _ => fake.Now.Target,
        };
        fake.Now.Position = IsMotion(command.Kind) && command.Kind != AxisCommandKind.Enable ? fake.Now.Target : fake.Now.Position;
    }

    private void Report(short axis, Outcome outcome, Refusal refusal = Refusal.None, FaultCode fault = FaultCode.None, double value = 0)
    {
        var id = this[axis].InHand.Id;
        this[axis].InHand = default;
        Write(axis);
        Send(new AxisReport(id, axis, outcome, refusal, fault, value, _now));
    }

    private void Send(in AxisReport report) => Assert.True(_board.Ports[_port].Reports.TryWrite(report), "The coordinator let the report ring run full.");

    private void Write(short axis)
    {
        var fake = this[axis];
        fake.Now.At = _now;
        fake.Now.CommandId = fake.InHand.Id;
        _board.Axes[axis].Write(fake.Now);
    }

    /// <summary>Causes of category 2 leave torque alone.</summary>
    private ulong Forbidding(int axis, AxisCommandKind kind) =>
        kind == AxisCommandKind.Enable ? _board.Causes.Mask(axis, 0) | _board.Causes.Mask(axis, 1) : _board.Causes.Mask(axis);

    private static bool IsMotion(AxisCommandKind kind) => kind is AxisCommandKind.Enable or AxisCommandKind.Home or AxisCommandKind.Move
        or AxisCommandKind.MoveBy or AxisCommandKind.Run or AxisCommandKind.Contact or AxisCommandKind.Jog or AxisCommandKind.ProveBrake;
}
