using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Ports;

/// <summary>What a port's driver is to do next.</summary>
public enum PortStepKind : byte
{
    /// <summary>Nothing until a time; then ask again.</summary>
    Wait = 0,

    /// <summary>Run the transaction now, then tell how it ended.</summary>
    Transact = 1,

    /// <summary>Have the device opened, and tell whether it worked; until then go on asking.</summary>
    Open = 2,
}

/// <summary>One answer of a stepper.</summary>
/// <param name="Kind">What to do.</param>
/// <param name="Until">Monotonic time to wait for.</param>
/// <param name="Transaction">What to run.</param>
public readonly record struct PortStep(PortStepKind Kind, TimeSpan Until, Transaction? Transaction);
