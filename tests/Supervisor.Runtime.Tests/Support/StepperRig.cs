using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>One port's stepper with drives moved by hand behind it: every frame is kept, every reply is the test's to give.</summary>
internal sealed class StepperRig
{
    private readonly RtuSlave _slave = new();
    private readonly byte[] _reply = new byte[256];
    private ulong _lastId;

    public StepperRig(MachineDefinition machine)
    {
        Board = new MachineBoard(machine);
        Stepper = new PortStepper(Board, 0);
        Drives = [.. machine.Axes.Select(_ => new HandDrive())];
        for (var axis = 0; axis < Drives.Length; axis++)
        {
            _slave.Serve(machine.Axes[axis].Address, Drives[axis]);
        }
    }

    public MachineBoard Board { get; }

    public PortStepper Stepper { get; }

    public HandDrive[] Drives { get; }

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(500);

    /// <summary>Requests in the order they went out.</summary>
    public List<(TimeSpan At, byte Unit, byte Function, byte[] Frame)> Frames { get; } = [];

    /// <summary>What becomes of a request; null: it is answered. An exception code above 0, or -1 for silence.</summary>
    public Func<byte, byte, int>? Fate { get; set; }

    /// <summary>How long an answered transaction takes.</summary>
    public TimeSpan Duration { get; set; } = TimeSpan.FromMilliseconds(3);

    public bool CanOpen { get; set; } = true;

    public int Opens { get; private set; }

    /// <summary>Called when a request was chosen and its first byte is about to go.</summary>
    public Action? BeforeTheFirstByte { get; set; }

    /// <summary>Called while a request is on the line.</summary>
    public Action? OnTheLine { get; set; }

    public AxisSnapshot Axis(int axis) => Board.Axes[axis].Read();

    public void Run(double milliseconds)
    {
        var end = Now + TimeSpan.FromMilliseconds(milliseconds);
        while (Now < end)
        {
            Step(end);
        }
    }

    /// <summary>Time passes in which nothing runs here.</summary>
    public void StandStill(double milliseconds) => Pass(TimeSpan.FromMilliseconds(milliseconds));

    public void RunUntil(Func<bool> holds, string what, double milliseconds = 10_000)
    {
        var end = Now + TimeSpan.FromMilliseconds(milliseconds);
        while (!holds())
        {
            Assert.True(Now < end, $"not within {milliseconds} ms: {what}");
            Step(end);
        }
    }

    /// <summary>Every drive met and at rest without torque.</summary>
    public void Meet()
    {
        RunUntil(() => Enumerable.Range(0, Drives.Length).All(axis => Axis(axis) is { Online: true, State: Records.Axes.AxisState.Disabled, Detail: not Records.Axes.AxisDetail.Stopping and not Records.Axes.AxisDetail.Deenergising }), "all met");
        for (var cause = 0; cause < Board.Causes.Count; cause++)
        {
            Board.Latch.Reset(cause, Board.Latch.TripCount(cause));
        }

        Run(100);
    }

    public ulong Give(int axis, AxisCommandKind kind, double target = 0, double torque = 0)
    {
        var limits = Board.Machine.Axes[axis].Limits;
        Assert.True(Board.Ports[0].Mailbox.TryWrite(new AxisCommand(
            ++_lastId, (short)axis, kind, Board.Latch.StopEpoch(axis), target, limits.Velocity, limits.Acceleration, limits.Deceleration, torque)));
        return _lastId;
    }

    public List<AxisReport> Reports()
    {
        while (Board.Ports[0].Reports.TryRead(out var report))
        {
            _reports.Add(report);
        }

        return _reports;
    }

    public Outcome EndOf(ulong id) => Reports().LastOrDefault(report => report.CommandId == id).Outcome;

    public List<FaultEvent> Faults()
    {
        while (Board.Ports[0].Faults.TryRead(out var fault))
        {
            _faults.Add(fault);
        }

        return _faults;
    }

    private readonly List<AxisReport> _reports = [];
    private readonly List<FaultEvent> _faults = [];

    private void Step(TimeSpan end)
    {
        var step = Stepper.Next(Now);
        switch (step.Kind)
        {
            case PortStepKind.Open:
                Opens++;
                Stepper.Opened(CanOpen, Now);
                Pass(TimeSpan.FromMilliseconds(0.1));
                break;
            case PortStepKind.Wait:
                Assert.True(step.Until > Now, "a wait that ends before it begins spins");
                Pass((step.Until < end ? step.Until : end) - Now);
                break;
            default:
                Transact(step.Transaction!);
                break;
        }
    }

    private void Transact(Transaction transaction)
    {
        Assert.True(Stepper.Master.EarliestStart(transaction, Now) <= Now, "sent before the line allows it");
        transaction.Begin(Now);
        BeforeTheFirstByte?.Invoke();
        if (!Stepper.IsStillWanted)
        {
            transaction.End(TransactionResult.Withdrawn, Now);
            Stepper.Completed(Now);
            return;
        }

        Frames.Add((Now, transaction.Unit, transaction.Function, transaction.RequestFrame.ToArray()));
        OnTheLine?.Invoke();
        var fate = Fate?.Invoke(transaction.Unit, transaction.Function) ?? 0;
        Pass(fate < 0 ? transaction.ReplyTimeout + Duration : Duration);
        if (fate < 0)
        {
            transaction.End(fate == -2 ? TransactionResult.LinkGone : TransactionResult.TimedOut, Now);
        }
        else
        {
            var length = fate > 0 ? Refuse(transaction, (byte)fate) : _slave.Answer(transaction.RequestFrame, _reply);
            transaction.Accept(_reply.AsSpan(0, length), Now);
        }

        Stepper.Completed(Now);
    }

    private int Refuse(Transaction transaction, byte code)
    {
        _reply[0] = transaction.Unit;
        _reply[1] = (byte)(transaction.Function | 0x80);
        _reply[2] = code;
        return Crc16.Append(_reply, 3);
    }

    private void Pass(TimeSpan time)
    {
        Now += time;
        foreach (var drive in Drives)
        {
            drive.Advance(Now);
        }
    }
}
