using Supervisor.Bus.Links;
using Supervisor.Daemon.Verbs.Diagnose;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>A port that a verb wants for itself: refused while anybody else has it.</summary>
internal static class PortGate
{
    private const string StopDaemon = "bring the machine to rest and stop the daemon first (systemctl stop axis-supervisor)";

    /// <summary>Why the port is not to be touched, by what the kernel shows of its holders; empty when nobody is seen. Touches nothing.</summary>
    public static string Held(DiagnosisPlaces places, string device) =>
        SerialAdapter.Node(device) is { } node && places.Holders.Of(node) is [var holder, ..] ? Held(device, holder) : "";

    /// <summary>Why it could not be opened, with who may have it.</summary>
    public static string NotOpened(DiagnosisPlaces places, string device, in LinkOpening opening)
    {
        if (opening.Failure != OpenFailure.Busy)
        {
            return opening.Reason;
        }

        // Another user's processes can't be seen, but their daemon's socket can.
        var held = Held(places, device);
        return held.Length > 0 ? held
            : places.DaemonSocket() is { } socket ? $"{device} is held, and a daemon's socket is at {socket}: {StopDaemon}"
            : opening.Reason;
    }

    private static string Held(string device, DeviceHolder holder) => Diagnosis.IsDaemon(holder)
        ? $"the daemon (process {holder.Process}) holds {device}: {StopDaemon}"
        : $"{device} is held by {holder.Text}: end that one first; a line has one master";
}
