using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>Two axes alike on one line under their coordinator, homed and enabled, in maintenance mode, with every frame kept.</summary>
internal sealed class TimeoutRig
{
    public const double Velocity = 50;
    public const double Way = 60;

    private const string Bits =
        """
        "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
        "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" }
        """;

    private const string BitFeedback =
        """{ "name": "status", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""";

    private const string BitCommands =
        """{ "name": "command", "register": 64, "type": "u16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""";

    private const string ErrorCode = """, { "name": "errorCode", "register": 6, "type": "u16" }""";

    private const string TwoAlike = """ "jog": { "velocity": 50 }, "communicationTimeoutMs": 300, """ + OneAxis.Homing;

    public TimeoutRig(MachineDefinition definition, ulong seed = 61)
    {
        Machine = new SupervisedMachine(definition, seed);
        Machine.World.FrameBegun = Frames.Add;
        Machine.RunUntil(() => Machine.Control.Status().Axes.All(axis => axis.Online), 10, "every axis met");
        Machine.Grant = Machine.Control.TryAcquire("commissioner", out _);
        Machine.World.ResetInterlocks();
        Machine.Run(0.1);
        Machine.Done(new HomeCommand([]));
        Machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
    }

    public SupervisedMachine Machine { get; }

    public SimulatedWorld World => Machine.World;

    public List<WireFrame> Frames { get; } = [];

    public MeasuredTimeout Measured => Assert.Single(Machine.Journal.Timeouts).Measured;

    public static ProveTimeoutCommand Moving(int axis = 0, double by = Way) => new(axis, by, Velocity, Confirmed: true);

    public static ProveTimeoutCommand AtRest(int axis = 0) => new(axis, 0, null, Confirmed: true);

    /// <summary>A machine file of two axes.</summary>
    /// <param name="coding">"words" (CiA 402), "bits", or "blind": words without velocity and number of the fault.</param>
    /// <param name="reaction">What the drives do.</param>
    /// <param name="fedBy">What feeds the time-out.</param>
    /// <param name="more">Members of both axes, with a comma behind.</param>
    public static MachineDefinition File(string coding, string reaction = "quickStopThenOff", string fedBy = "anyFrame", string more = "") => Shape(coding, reaction, fedBy, more).Build();

    public static OneAxis Shape(string coding, string reaction = "quickStopThenOff", string fedBy = "anyFrame", string more = "")
    {
        var plain = new OneAxis
        {
            Axes = 2, Axis = more + TwoAlike,
            Extra = $$""" "communicationTimeout": { "fedBy": "{{fedBy}}", "reaction": "{{reaction}}" }, "refreshMs": {{(fedBy == "write" ? 100 : 0)}} """,
        };
        return coding switch
        {
            "bits" => plain with { States = Bits, Feedback = BitFeedback, Command = BitCommands },
            "blind" => plain with { Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""" },
            _ => plain with { Feedback = OneAxis.Words + ErrorCode },
        };
    }

    /// <summary>Frames to a drive in the silence that was measured, its ends left out.</summary>
    public int FramesTo(byte unit, in MeasuredTimeout measured)
    {
        var (from, until) = (measured.SilentFrom, measured.SilentFrom + measured.Silence);
        return Frames.Count(frame => frame.Unit == unit && frame.At > from && frame.At < until - TimeSpan.FromMilliseconds(20));
    }

    /// <summary>Begins a proof and lets time pass until its drive is left unasked, and a little more.</summary>
    public CommandTicket UntilSilent(ProveTimeoutCommand prove)
    {
        var ticket = Machine.Control.Submit(prove, Machine.Grant);
        Machine.RunUntil(
            () => Machine.Axis("slide").Detail == AxisDetail.ProvingTimeout && World.Queue.Now - World.Snapshot("slide").At > TimeSpan.FromMilliseconds(100), 5, "silent");
        return ticket;
    }

    public CommandAnswer EndOf(CommandTicket ticket, double within = 10)
    {
        Machine.RunUntil(() => ticket.Completion.IsCompleted, within, "the proof ends");
        return SupervisedMachine.Ended(ticket);
    }

    public void AssertRefused(ProveTimeoutCommand prove, Refusal refusal, string told)
    {
        var answer = Machine.Do(prove);
        Assert.True((answer.Outcome, answer.Refusal) == (Outcome.Refused, refusal), answer.ToString());
        Assert.Contains(told, answer.Message, StringComparison.Ordinal);
        Assert.Empty(Machine.Journal.Timeouts);
    }
}
