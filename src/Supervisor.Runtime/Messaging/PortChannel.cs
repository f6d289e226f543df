using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Messaging;

/// <summary>The rings between the coordinator and one port's stepper. Each end belongs to one thread.</summary>
public sealed class PortChannel
{
    /// <summary>Coordinator to stepper. Full: refuse the command.</summary>
    public SpscRing<AxisCommand> Mailbox { get; } = new(64);

    /// <summary>Stepper to coordinator. Twice the mailbox and more, as each command may answer twice; the coordinator drains it every step.</summary>
    public SpscRing<AxisReport> Reports { get; } = new(512);

    /// <summary>Stepper to coordinator.</summary>
    public SpscRing<FaultEvent> Faults { get; } = new(256);

    /// <summary>The port's own state.</summary>
    public SnapshotCell<PortSnapshot> Port { get; } = new();
}
