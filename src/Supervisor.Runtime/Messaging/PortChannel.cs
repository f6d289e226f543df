using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Runtime.Messaging;

/// <summary>The rings between the coordinator and one port's stepper. Each end belongs to one thread.</summary>
public sealed class PortChannel
{
    /// <summary>Coordinator to stepper. Full: refuse the command.</summary>
    public SpscRing<AxisCommand> Mailbox { get; } = new(64);

    /// <summary>Stepper to coordinator, who drains it every step. The stepper takes no command whose reports might not fit.</summary>
    public SpscRing<AxisReport> Reports { get; } = new(512);

    /// <summary>Stepper to coordinator. Full: an axis keeps the fault it has latched until there is room, others are counted.</summary>
    public SpscRing<FaultEvent> Faults { get; } = new(256);

    /// <summary>Stepper to coordinator: stops as measured. Full: the newest are not kept.</summary>
    public SpscRing<MeasuredStop> Stops { get; } = new(256);

    /// <summary>Stepper to coordinator: what drives did that were left unasked on purpose.</summary>
    public SpscRing<MeasuredTimeout> Timeouts { get; } = new(16);

    private volatile string _problem = "";

    /// <summary>What is wrong with its device and what to do, in a sentence; empty when nothing is. Written by the thread that opens it, read by whoever looks.</summary>
    public string Problem
    {
        get => _problem;
        set => _problem = value;
    }

    /// <summary>The port's own state.</summary>
    public SnapshotCell<PortSnapshot> Port { get; } = new();
}
