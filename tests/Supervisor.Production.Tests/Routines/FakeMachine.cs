using Supervisor.Bus;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Motion.Heating;
using Supervisor.Production.Routines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Production.Tests.Routines;

/// <summary>Two axes that answer as a test says, and a clock that jumps to what is waited for.</summary>
internal sealed class FakeMachine : IRoutineMachine, IMonotonicClock
{
    public const int Gantry = 0;
    public const int Dibber = 1;

    private static readonly DriveDefinition Drive = new(
        "Reference drive",
        new WireDefinition(3, 32, 16, 32, true, WordOrder.HighFirst, 0, TimeSpan.Zero, [], false),
        StateCoding.Cia402, null, null, [], [], [],
        new Dictionary<string, BitReference> { ["home"] = new("digitalInputs", 7, false), ["part"] = new("digitalInputs", 3, false) },
        new Dictionary<string, BitReference> { ["valve"] = new("digitalOutputs", 0, false) },
        null, TimeSpan.Zero);

    private readonly List<MachineCommand> _commands = [];
    private ulong _id;

    public MachineDefinition Machine { get; } = new("Tray seeder", [], [Axis("gantry"), Axis("dibber")], [], []);

    /// <summary>Commands in the order they came.</summary>
    public IReadOnlyList<MachineCommand> Commands => _commands;

    /// <summary>Commands that are not stops.</summary>
    public IEnumerable<MachineCommand> Work => _commands.Where(command => command is not HaltCommand);

    /// <summary>Answers a command; null leaves it running.</summary>
    public Func<MachineCommand, CommandAnswer?> Answer { get; set; } = _ => Done;

    /// <summary>Inputs of the dibber at a time, as the status packs them.</summary>
    public Func<TimeSpan, (bool Online, uint Inputs)> Inputs { get; set; } = _ => (true, 0);

    public Action<MachineCommand>? Submitted { get; set; }
    public Action<TimeSpan>? Waited { get; set; }
    public TimeSpan Now { get; set; } = TimeSpan.FromSeconds(50);

    public static CommandAnswer Done { get; } = new(0, Outcome.Done, Refusal.None, FaultCode.None, -1, "done", null);

    public static CommandAnswer Failed(FaultCode fault, string message) => new(0, Outcome.Failed, Refusal.None, fault, 1, message, null);

    public static CommandAnswer Ended(Outcome outcome, Refusal refusal, string message) => new(0, outcome, refusal, FaultCode.None, 1, message, null);

    public CommandTicket Submit(MachineCommand command)
    {
        _commands.Add(command);
        var completion = new TaskCompletionSource<CommandAnswer>();
        if (Answer(command) is { } answer)
        {
            completion.SetResult(answer);
        }

        Submitted?.Invoke(command);
        return new CommandTicket(++_id, Task.FromResult<CommandAnswer?>(null), completion.Task);
    }

    public string Mode { get; set; } = "production";

    /// <summary>The dibber's torque so far; the gantry's drive reports none.</summary>
    public LoadSum DibberLoad { get; set; }

    public MachineStatus Status()
    {
        var (online, inputs) = Inputs(Now);
        return new MachineStatus(Now, "Tray seeder", Mode, true, null, [AxisStatus("gantry", true, 0, default), AxisStatus("dibber", online, inputs, DibberLoad)], [], []);
    }

    public void WaitUntil(TimeSpan deadline)
    {
        Now = deadline > Now ? deadline : Now;
        Waited?.Invoke(Now);
    }

    private static AxisStatus AxisStatus(string name, bool online, uint inputs, LoadSum load) => new(
        name, AxisState.Ready, AxisDetail.None, true, online, 0, 0, 0, 0, "mm", [], FaultCode.None, 0, 0, inputs, false)
    {
        TorqueLoad = load,
    };

    private static AxisDefinition Axis(string name) => new(
        name, 0, 1, Drive, "mm", 1000, false, null, new LimitsDefinition(0, 200, 100, 1000, 1000, null),
        new InPositionDefinition(0.1, TimeSpan.Zero), null, null, null, ReferenceKind.None, false, null, null, TimeSpan.FromMilliseconds(250), []);
}
