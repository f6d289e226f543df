namespace Supervisor.Bus.Links;

/// <summary>Why a link could not be opened. Append-only: the numbers are stored.</summary>
public enum OpenFailure
{
    None = 0,

    /// <summary>There is no such device: not plugged in, or another name.</summary>
    NoSuchDevice = 1,

    /// <summary>The user may not open it.</summary>
    PermissionDenied = 2,

    /// <summary>Another process holds it.</summary>
    Busy = 3,

    /// <summary>It is no serial line.</summary>
    NotATerminal = 4,

    /// <summary>The device does not take the baud rate, parity or stop bits.</summary>
    SettingsRefused = 5,

    /// <summary>The device is there but does not work.</summary>
    DeviceError = 6,

    /// <summary>This system has no link of this kind.</summary>
    Unsupported = 7,
}

/// <summary>What opening a link came to: a link, or the reason why there is none.</summary>
/// <param name="Link">The open link, owned by the caller; null when it failed.</param>
/// <param name="Failure">Why it failed.</param>
/// <param name="Reason">The device, what is wrong and what to do, in one sentence; empty when it is open.</param>
public readonly record struct LinkOpening(ILink? Link, OpenFailure Failure, string Reason)
{
    /// <summary>An open link.</summary>
    public static LinkOpening Opened(ILink link) => new(link, OpenFailure.None, "");

    /// <summary>A failure.</summary>
    public static LinkOpening Failed(OpenFailure failure, string reason) => new(null, failure, reason);

    internal static LinkOpening NoSuchDevice(string device) =>
        Failed(OpenFailure.NoSuchDevice, $"{device}: no such device; is it plugged in, and is the name right? `ports` lists those that are there");

    internal static LinkOpening PermissionDenied(string device) =>
        Failed(OpenFailure.PermissionDenied, $"{device}: permission denied; add the user to group dialout (the group that owns serial ports) and log in again");

    internal static LinkOpening Busy(string device) => Busy(device, new DeviceHolders());

    /// <summary>Names who holds it, where the kernel shows that to this user.</summary>
    internal static LinkOpening Busy(string device, DeviceHolders all)
    {
        var node = SerialAdapter.Node(device) ?? device;
        var others = all.Of(node);
        var who = others.Count > 0 ? $"held by {string.Join(", ", others.Select(holder => holder.Text))}; end that one first"
            : all.IsOwn(node) ? "held by this program itself, under another name or by an opening that hangs; name each device once"
            : "held by another process, which only its user and root may see; end that one first";
        return Failed(OpenFailure.Busy, $"{device}: busy: {who}");
    }

    internal static LinkOpening NotATerminal(string device) =>
        Failed(OpenFailure.NotATerminal, $"{device}: not a terminal; name a serial port");
}
