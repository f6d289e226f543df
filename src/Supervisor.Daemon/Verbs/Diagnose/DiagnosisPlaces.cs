using Supervisor.Bus;
using Supervisor.Bus.Gpio;
using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>The computer that is looked at.</summary>
public sealed class DiagnosisPlaces
{
    /// <summary>Opens a serial port.</summary>
    public Func<string, LineSettings, LinkOpening> Open { get; init; } = SerialLink.Open;

    /// <summary>The GPIO of this computer; null where it has none.</summary>
    public IGpioKernel? Gpio { get; init; } = OperatingSystem.IsLinux() ? new LinuxGpioKernel() : null;

    /// <summary>Where the kernel shows its devices.</summary>
    public string SystemRoot { get; init; } = "/sys";

    /// <summary>Who holds a device.</summary>
    public DeviceHolders Holders { get; init; } = new();

    /// <summary>The clock of the deadlines.</summary>
    public IMonotonicClock Clock { get; init; } = MonotonicClock.System;

    /// <summary>Socket of a running daemon; null when none is to be seen.</summary>
    public Func<string?> DaemonSocket { get; init; } = () => Hosting.SocketPaths.ForClient(null) is { } path && File.Exists(path) ? path : null;
}
