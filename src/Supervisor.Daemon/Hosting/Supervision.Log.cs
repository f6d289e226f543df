namespace Supervisor.Daemon.Hosting;

/// <content>What it tells the log.</content>
internal sealed partial class Supervision
{
    [LoggerMessage(1001, LogLevel.Information, "Supervising {Machine}: {Axes} axes on {Ports} ports; API at {Socket}", EventName = "Up")]
    private partial void LogUp(string machine, int axes, int ports, string socket);

    [LoggerMessage(1002, LogLevel.Information, "Going down: {Reason}", EventName = "Down")]
    private partial void LogDown(string reason);

    [LoggerMessage(1003, LogLevel.Information, "All axes that answer have stopped", EventName = "AxesStopped")]
    private partial void LogStopped();

    [LoggerMessage(1004, LogLevel.Error, "Not seen to stop in time: {Axes}; their drives' own time-outs stop them now", EventName = "AxesNotStopped")]
    private partial void LogNotStopped(string axes);

    [LoggerMessage(1005, LogLevel.Error, "Stage {Stage} failed on the way down", EventName = "StageFailed")]
    private partial void LogStageFailed(string stage, Exception exception);

    [LoggerMessage(1006, LogLevel.Error, "The thread of {What} did not end in time", EventName = "NotJoined")]
    private partial void LogNotJoined(string what);

    [LoggerMessage(1007, LogLevel.Critical, "Port {Port} ended by an error of its own; all axes are told to stop", EventName = "PortBroke")]
    private partial void LogPortBroke(string port, Exception exception);

    [LoggerMessage(1008, LogLevel.Critical, "The coordinator ended by an error of its own; all axes are told to stop", EventName = "CoordinatorBroke")]
    private partial void LogCoordinatorBroke(Exception exception);

    [LoggerMessage(1018, LogLevel.Warning, "{Held}", EventName = "LoadLeftHeld")]
    private partial void LogLeftHeld(string held);

    [LoggerMessage(1009, LogLevel.Information, "Down", EventName = "Ended")]
    private partial void LogEnded();

    [LoggerMessage(1011, LogLevel.Error, "{Problem}", EventName = "NoBlackBox")]
    private partial void LogNoBlackBox(string problem);

    [LoggerMessage(1012, LogLevel.Error, "The run before broke: {LastWords}", EventName = "LastWords")]
    private partial void LogLastWords(string lastWords);

    [LoggerMessage(1015, LogLevel.Error, "What happens is not kept: {Problem} Axes go on", EventName = "HistoryFails")]
    private partial void LogHistoryFails(string problem);

    [LoggerMessage(1016, LogLevel.Warning, "What happens is kept again; {Lost} records since the start could not be", EventName = "HistoryBack")]
    private partial void LogHistoryBack(long lost);

    [LoggerMessage(1018, LogLevel.Error, "No samples are recorded any more around faults, by an error of its own; axes go on", EventName = "RecorderBroke")]
    private partial void LogRecorderBroke(Exception exception);

    [LoggerMessage(1013, LogLevel.Information, "GPIO line {Input} is held", EventName = "GpioRead")]
    private partial void LogGpioRead(string input);

    [LoggerMessage(1014, LogLevel.Warning, "GPIO line {Input} can't be had and is asked for again; an input counts as open, an output is not set: {Problem}", EventName = "GpioSilent")]
    private partial void LogGpioSilent(string input, string problem);
}
