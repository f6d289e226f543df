using Grpc.Core;
using Grpc.Core.Interceptors;
using Supervisor.History;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Sees to it that whatever ends a call early reaches the client as one error with one ErrorInfo.</summary>
public sealed partial class ErrorInterceptor(StreamPace pace, ILogger<ErrorInterceptor> logger) : Interceptor
{
    /// <inheritdoc/>
    public override async Task<TResponse> UnaryServerHandler<TRequest, TResponse>(
        TRequest request, ServerCallContext context, UnaryServerMethod<TRequest, TResponse> continuation)
    {
        ArgumentNullException.ThrowIfNull(context);
        ArgumentNullException.ThrowIfNull(continuation);
        try
        {
            return await continuation(request, context);
        }
        catch (Exception exception) when (exception is not RpcException)
        {
            throw Translate(exception, context);
        }
    }

    /// <inheritdoc/>
    public override async Task ServerStreamingServerHandler<TRequest, TResponse>(
        TRequest request, IServerStreamWriter<TResponse> responseStream, ServerCallContext context, ServerStreamingServerMethod<TRequest, TResponse> continuation)
    {
        ArgumentNullException.ThrowIfNull(context);
        ArgumentNullException.ThrowIfNull(continuation);
        try
        {
            await continuation(request, responseStream, context);
        }
        catch (Exception exception) when (exception is not RpcException)
        {
            throw Translate(exception, context);
        }
    }

    private RpcException Translate(Exception exception, ServerCallContext context)
    {
        if (context.CancellationToken.IsCancellationRequested)
        {
            // The client is gone or out of time: nobody hears this.
            return new RpcException(new Status(StatusCode.Cancelled, "the client ended the call"));
        }

        if (exception is OperationCanceledException && pace.Ending.IsCancellationRequested)
        {
            return ApiErrors.Error(StatusCode.Unavailable, ApiErrors.ReasonOf(Refusal.ShuttingDown), "the supervisor is shutting down");
        }

        if (exception is HistoryException)
        {
            return ApiErrors.Error(StatusCode.Unavailable, "HISTORY_UNREADABLE", exception.Message);
        }

        LogBroken(context.Method, exception);
        return ApiErrors.Error(StatusCode.Internal, "INTERNAL", "the supervisor failed to serve this call by an error of its own; its log tells more");
    }

    [LoggerMessage(2010, LogLevel.Error, "Serving {Method} failed", EventName = "CallBroken")]
    private partial void LogBroken(string method, Exception exception);
}
