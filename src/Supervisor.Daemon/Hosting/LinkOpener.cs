using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Hosting;

/// <summary>Opens a port's device again and again on a thread that may wait, and says why not once per reason instead of once per attempt.</summary>
internal sealed partial class LinkOpener(string port, string device, LineSettings line, ILogger<LinkOpener> logger)
{
    private string _told = "";

    public ILink? Open()
    {
        var opening = SerialLink.Open(device, line);
        if (opening.Link is not null)
        {
            _told = "";
            LogOpened(port, device);
        }
        else if (opening.Reason != _told)
        {
            _told = opening.Reason;
            LogNotOpened(port, opening.Reason);
        }

        return opening.Link;
    }

    /// <summary>The first thing a port's thread does.</summary>
    public void Raise()
    {
        if (!RealTimePriority.TryRaiseThisThread())
        {
            LogOrdinary(port);
        }
    }

    public void TellHung(int threads) => LogHung(port, device, threads);

    [LoggerMessage(1020, LogLevel.Information, "Port {Port} opened {Device}", EventName = "PortOpened")]
    private partial void LogOpened(string port, string device);

    [LoggerMessage(1021, LogLevel.Warning, "Port {Port} can't be opened and is tried again: {Reason}", EventName = "PortNotOpened")]
    private partial void LogNotOpened(string port, string reason);

    [LoggerMessage(1022, LogLevel.Information, "Port {Port} runs without real-time priority: cycles may be late while the board is busy; LimitRTPRIO=30 or CAP_SYS_NICE permits it", EventName = "OrdinaryPriority")]
    private partial void LogOrdinary(string port);

    [LoggerMessage(1023, LogLevel.Warning, "Port {Port}: opening or closing {Device} did not come back from its driver; it is tried again by another thread while {Threads} hang. Unplug the adapter and plug it in again", EventName = "PortOpeningHangs")]
    private partial void LogHung(string port, string device, int threads);
}
