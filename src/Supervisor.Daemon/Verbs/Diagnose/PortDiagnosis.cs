using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Ports;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Looks at one port: its device node, its adapter, who holds it; opens it.</summary>
internal sealed class PortDiagnosis(PortDefinition port, DiagnosisPlaces places)
{
    // A USB adapter's usual waiting time before it hands on what came, ms; 1 is the least it takes.
    private const int BestLatencyMs = 1;

    private readonly List<Finding> _findings = [];

    /// <summary>Settings of the line.</summary>
    public LineSettings Line { get; } = PortLine.Of(port);

    /// <summary>The open device; null when it could not be opened.</summary>
    public ILink? Link { get; private set; }

    /// <summary>Who holds it.</summary>
    public IReadOnlyList<DeviceHolder> Holders { get; private set; } = [];

    /// <summary>Why it could not be opened.</summary>
    public OpenFailure Failure { get; private set; }

    public DiagnosedThing Result => new("port", port.Name, port.Device, _findings);

    public void Add(Finding finding) => _findings.Add(finding);

    /// <summary>Looks without touching it.</summary>
    public void Look()
    {
        var device = SerialAdapter.Node(port.Device);
        if (device is null)
        {
            return;
        }

        if (device != port.Device)
        {
            Add(Finding.Good($"is {device} now"));
        }
        else if (StableNames(device) is [var stable, ..])
        {
            Add(Finding.Note($"{device} may be another adapter after the next start", $"name it {stable} in the machine file"));
        }

        Holders = places.Holders.Of(device);
        LookAtLatency(device);
        if (OperatingSystem.IsLinux())
        {
            LookAtPermission(device);
        }
    }

    /// <summary>Opens it, for this process alone.</summary>
    public void Open()
    {
        var opening = places.Open(port.Device, Line);
        (Link, Failure) = (opening.Link, opening.Failure);
        if (opening.Link is not null)
        {
            Add(Finding.Good($"opened with {Trouble.Settings(port)}"));
            return;
        }

        var holder = Holders.Count > 0 ? $"; held by {string.Join(", ", Holders.Select(each => each.Text))}" : "";
        Add(Finding.Wrong($"can't be opened: {Reason(opening)}{holder}", WhatToDo(opening.Failure)));
    }

    private string Reason(in LinkOpening opening) => opening.Failure switch
    {
        OpenFailure.NoSuchDevice => "there is no such device",
        OpenFailure.PermissionDenied => "permission denied",
        OpenFailure.Busy => "another process holds it",
        _ => opening.Reason.StartsWith($"{port.Device}: ", StringComparison.Ordinal) ? opening.Reason[(port.Device.Length + 2)..] : opening.Reason,
    };

    private static string WhatToDo(OpenFailure failure) => failure switch
    {
        OpenFailure.NoSuchDevice => "plug the adapter in, or give the right name: `axis-supervisor ports` lists those that are there",
        OpenFailure.PermissionDenied => "add the user that runs the daemon to the group that owns the device",
        OpenFailure.Busy => "end the program that holds it",
        OpenFailure.SettingsRefused => "give a rate and parity that the adapter takes",
        _ => "check the adapter; another one tells whether it is at fault",
    };

    private static IReadOnlyList<string> StableNames(string device) =>
        SerialPorts.List().FirstOrDefault(each => each.Name == device)?.StableNames ?? [];

    /// <summary>Some adapters gather what comes for up to 16 ms: every answer waits for that.</summary>
    private void LookAtLatency(string device)
    {
        if (SerialAdapter.LatencyTimer(device, places.SystemRoot) is not { } latency)
        {
            return;
        }

        var latencyMs = (int)latency.TotalMilliseconds;

        if (latencyMs <= BestLatencyMs)
        {
            Add(Finding.Good($"the adapter hands on after {latencyMs} ms"));
            return;
        }

        var what = $"the adapter keeps what came for up to {latencyMs} ms before it hands it on (latency timer); a cycle is {Text.Of(port.Cycle.TotalMilliseconds)} ms";
        const string WhatToDo = "set it to 1 by a udev rule with ATTR{latency_timer}=\"1\"";
        Add(latencyMs >= port.ResponseTimeout.TotalMilliseconds ? Finding.Wrong(what, WhatToDo) : Finding.Note(what, WhatToDo));
    }

    [SupportedOSPlatform("linux")]
    private void LookAtPermission(string device)
    {
        var mode = File.GetUnixFileMode(device);
        if ((mode & (UnixFileMode.OtherRead | UnixFileMode.OtherWrite)) != 0)
        {
            Add(Finding.Note("every user of this computer may open it", "leave it to a group (mode 0660) of which the daemon's user is a member"));
        }
    }
}
