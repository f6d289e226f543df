using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Hosting;

/// <summary>Opens a port's device again and again on the port's thread, and says why not once per reason instead of once per attempt.</summary>
internal sealed partial class LinkOpener(string port, string device, LineSettings line, ILogger<LinkOpener> logger)
{
    private string _told = "";
    private bool _isRaised;

    public ILink? Open()
    {
        RaiseOnce();
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

    /// <summary>The first opening is the first thing a port's thread does.</summary>
    private void RaiseOnce()
    {
        if (!_isRaised)
        {
            _isRaised = true;
            if (!RealTimePriority.TryRaiseThisThread())
            {
                LogOrdinary(port);
            }
        }
    }

    [LoggerMessage(1020, LogLevel.Information, "Port {Port} opened {Device}", EventName = "PortOpened")]
    private partial void LogOpened(string port, string device);

    [LoggerMessage(1021, LogLevel.Warning, "Port {Port} can't be opened and is tried again: {Reason}", EventName = "PortNotOpened")]
    private partial void LogNotOpened(string port, string reason);

    [LoggerMessage(1022, LogLevel.Information, "Port {Port} runs without real-time priority: cycles may be late while the board is busy; LimitRTPRIO=30 or CAP_SYS_NICE permits it", EventName = "OrdinaryPriority")]
    private partial void LogOrdinary(string port);
}
