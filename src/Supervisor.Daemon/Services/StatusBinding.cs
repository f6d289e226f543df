using System.Buffers;
using Google.Protobuf;
using Grpc.Core;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Services;

/// <summary>The calls of the status service, in the place of the generated base, which is bound to the generated encoding.</summary>
[BindServiceMethod(typeof(StatusBinding), nameof(StatusBinding.Bind))]
public abstract class StatusServerBase
{
    /// <summary>The status of this moment.</summary>
    public abstract Task<GetStatusResponse> GetStatus(GetStatusRequest request, ServerCallContext context);

    /// <summary>The status whenever it has changed.</summary>
    public abstract Task WatchStatus(WatchStatusRequest request, IServerStreamWriter<WatchStatusResponse> responseStream, ServerCallContext context);
}

/// <summary>Binds the status service as generated, but lets a status that several streams are told go out by the bytes it was encoded to once.</summary>
internal static class StatusBinding
{
    private static readonly Marshaller<WatchStatusResponse> Shared = Marshallers.Create(Write, context => WatchStatusResponse.Parser.ParseFrom(context.PayloadAsReadOnlySequence()));

    /// <summary>Called by the server's framework.</summary>
    public static void Bind(ServiceBinderBase binder, StatusServerBase? server)
    {
        // The framework finds the methods by their names, and asks without a server.
        _ = server;
        StatusService.BindService(new Binder(binder), null);
    }

    private static void Write(WatchStatusResponse response, SerializationContext context)
    {
        if (response.Encoded is { } encoded)
        {
            context.SetPayloadLength(encoded.Length);
            context.GetBufferWriter().Write(encoded);
        }
        else
        {
            context.SetPayloadLength(response.CalculateSize());
            response.WriteTo(context.GetBufferWriter());
        }

        context.Complete();
    }

    private sealed class Binder(ServiceBinderBase inner) : ServiceBinderBase
    {
        public override void AddMethod<TRequest, TResponse>(Method<TRequest, TResponse> method, UnaryServerMethod<TRequest, TResponse>? handler) => inner.AddMethod(method, handler);

        public override void AddMethod<TRequest, TResponse>(Method<TRequest, TResponse> method, ServerStreamingServerMethod<TRequest, TResponse>? handler) => inner.AddMethod(
            Shared is Marshaller<TResponse> shared ? new Method<TRequest, TResponse>(method.Type, method.ServiceName, method.Name, method.RequestMarshaller, shared) : method, handler);
    }
}
